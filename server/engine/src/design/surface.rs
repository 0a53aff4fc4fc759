//! Decks placed on the members under them: level, one-way, the members level and along x or along y.

use super::frame::FrameMember;
use super::resolve::{Tags, least_side, stiffness};
use super::{Deck, DeckSurface, Design, Section, Violation};
use crate::tables;

/// A deck with its extent and the lines of members under it.
#[derive(Clone, Debug)]
pub struct FrameDeck {
    /// Vehicle axis the members run along: 0 for x, 1 for y. The deck spans along the other.
    pub along: usize,
    /// Lines of members in order of their place across; members of one line lie end to end.
    pub lines: Vec<DeckLine>,
    /// Least and greatest place across the members, mm in vehicle axes.
    pub across_mm: [f64; 2],
    /// Least and greatest place along the members.
    pub along_mm: [f64; 2],
    /// Height of the members' tops.
    pub top_mm: f64,
    /// Mass of the deck itself, kg/m².
    pub mass_kg_m2: f64,
    /// Its thickness.
    pub thickness_mm: f64,
}

/// Members at one place across the deck.
#[derive(Clone, Debug)]
pub struct DeckLine {
    /// Place across, mm in vehicle axes.
    pub place_mm: f64,
    /// Indices of members and the stretch each covers along the deck.
    pub members: Vec<(usize, [f64; 2])>,
}

impl FrameDeck {
    /// Vehicle axis the deck spans along.
    pub fn across(&self) -> usize {
        1 - self.along
    }

    /// Area, m².
    pub fn area_m2(&self) -> f64 {
        (self.across_mm[1] - self.across_mm[0]) * (self.along_mm[1] - self.along_mm[0]) * 1e-6
    }

    /// True where a point (x, y) lies on the deck.
    pub fn covers(&self, point: [f64; 2]) -> bool {
        let (across, along) = (point[self.across()], point[self.along]);
        let within = |value: f64, range: [f64; 2]| value >= range[0] - 1e-6 && value <= range[1] + 1e-6;
        within(across, self.across_mm) && within(along, self.along_mm)
    }
}

/// Places the decks of a design; only those without fault come back.
pub fn decks(design: &Design, members: &[FrameMember], tags: &Tags, violations: &mut Vec<Violation>) -> Vec<FrameDeck> {
    design
        .decks
        .iter()
        .enumerate()
        .filter_map(|(index, deck)| {
            place(design, deck, members, tags)
                .map_err(|mut v| {
                    violations.push({
                        v.path = format!("decks[{index}].{}", v.path);
                        v
                    })
                })
                .ok()
        })
        .collect()
}

fn place(design: &Design, deck: &Deck, members: &[FrameMember], tags: &Tags) -> Result<FrameDeck, Violation> {
    let under: Vec<usize> = deck.carried_by.iter().filter_map(|tag| tags.member(tag)).collect();
    let along = direction(deck, &under, members)?;
    let across = 1 - along;
    let top_mm = top(deck, &under, members)?;
    let lines = lines(&under, members, along);
    if lines.len() < 2 {
        let message = format!("deck `{}` lies on one line of members and would tip", deck.tag);
        return Err(Violation::new("carried_by", message).mend("name at least two members beside each other"));
    }
    let stretch = lines.iter().flat_map(|l| l.members.iter().map(|m| m.1)).fold([f64::MAX, f64::MIN], hull);
    let half = |line: &DeckLine| line.members.iter().map(|m| 0.5 * width(&members[m.0])).fold(0.0, f64::max);
    let (first, last) = (&lines[0], &lines[lines.len() - 1]);
    let own = [first.place_mm - half(first), last.place_mm + half(last)];
    let stated = |axis: usize, fallback: [f64; 2]| match (deck.from_mm, deck.to_mm) {
        (Some(from), Some(to)) => [from[axis].min(to[axis]), from[axis].max(to[axis])],
        (Some(from), None) => [from[axis], fallback[1]],
        (None, Some(to)) => [fallback[0], to[axis]],
        (None, None) => fallback,
    };
    let (across_mm, along_mm) = (stated(across, own), stated(along, stretch));
    overhang(deck, &lines, across_mm)?;
    if across_mm[1] - across_mm[0] < 1.0 || along_mm[1] - along_mm[0] < 1.0 {
        return Err(Violation::new("from", format!("deck `{}` has no area", deck.tag)));
    }
    let (mass_kg_m2, thickness_mm) = surface(design, deck)?;
    Ok(FrameDeck { along, lines, across_mm, along_mm, top_mm, mass_kg_m2, thickness_mm })
}

fn hull(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0].min(b[0]), a[1].max(b[1])]
}

fn width(member: &FrameMember) -> f64 {
    member.section.width_mm.unwrap_or(0.0)
}

/// The vehicle axis that all members under a deck run along.
fn direction(deck: &Deck, under: &[usize], members: &[FrameMember]) -> Result<usize, Violation> {
    let runs = |axis: usize| under.iter().all(|m| members[*m].axes[0][axis].abs() > 1.0 - 1e-6);
    if under.is_empty() {
        return Err(Violation::new("carried_by", format!("deck `{}` lies on nothing", deck.tag)));
    }
    (0..2).find(|axis| runs(*axis)).ok_or_else(|| {
        let message = format!("the members under deck `{}` must be level and all run along x or all along y", deck.tag);
        Violation::new("carried_by", message).mend("name only the members that carry it side by side")
    })
}

/// Common height of the tops.
fn top(deck: &Deck, under: &[usize], members: &[FrameMember]) -> Result<f64, Violation> {
    let tops = under.iter().map(|m| members[*m].from[2] + 0.5 * members[*m].section.depth_mm.unwrap_or(0.0));
    let [low, high] = tops.fold([f64::MAX, f64::MIN], |r, t| hull(r, [t, t]));
    if high - low > super::frame::GAP_LIMIT_MM {
        let message =
            format!("the members under deck `{}` differ in height by {:.1} mm at their tops", deck.tag, high - low);
        return Err(Violation::new("carried_by", message).mend("bring their tops to one height, within 2 mm"));
    }
    Ok(high)
}

fn lines(under: &[usize], members: &[FrameMember], along: usize) -> Vec<DeckLine> {
    let across = 1 - along;
    let mut sorted: Vec<usize> = under.to_vec();
    sorted.sort_by(|a, b| members[*a].from[across].total_cmp(&members[*b].from[across]).then(a.cmp(b)));
    sorted.dedup();
    let mut lines: Vec<DeckLine> = Vec::new();
    for member in sorted {
        let start = members[member].from[along];
        let end = members[member].point(members[member].length_mm)[along];
        let stretch = [start.min(end), start.max(end)];
        let place_mm = members[member].from[across];
        match lines.last_mut().filter(|line| (line.place_mm - place_mm).abs() < 1.0) {
            Some(line) => line.members.push((member, stretch)),
            None => lines.push(DeckLine { place_mm, members: vec![(member, stretch)] }),
        }
    }
    for line in &mut lines {
        line.members.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]));
    }
    lines
}

/// A deck may reach past its outer members by half the span beside them.
fn overhang(deck: &Deck, lines: &[DeckLine], across_mm: [f64; 2]) -> Result<(), Violation> {
    let n = lines.len();
    let ends = [
        (lines[0].place_mm - across_mm[0], lines[1].place_mm - lines[0].place_mm),
        (across_mm[1] - lines[n - 1].place_mm, lines[n - 1].place_mm - lines[n - 2].place_mm),
    ];
    for (past, span) in ends {
        if past > 0.5 * span + 1e-6 {
            let message = format!(
                "deck `{}` reaches {past:.0} mm past its outer member, more than half the span of {span:.0} mm",
                deck.tag
            );
            return Err(Violation::new("to", message).mend("put a member nearer to its edge"));
        }
    }
    Ok(())
}

/// Mass per area (kg/m²) and thickness (mm) of a deck.
fn surface(design: &Design, deck: &Deck) -> Result<(f64, f64), Violation> {
    match &deck.surface {
        DeckSurface::Sheet { material, thickness_mm, .. } => {
            let panel = tables::panel::panel(material, *thickness_mm).ok_or_else(|| {
                let message = format!("no sheet of `{material}` {thickness_mm} mm thick is in the tables");
                Violation::new("sheet", message).mend(format!("known: {}", tables::panel::known().join(", ")))
            })?;
            Ok((panel.rho_mean * panel.thickness_mm * 1e-3, panel.thickness_mm))
        }
        DeckSurface::Slats { stock, gap_mm } => {
            let found = design.stock.iter().find(|s| s.name == *stock);
            let Some((stock, (_, _, _, density))) = found
                .and_then(|s| Some((s, stiffness(&s.material, least_side(&super::section::properties(&s.section)))?)))
            else {
                return Err(Violation::new("slats.stock", format!("no stock is called `{stock}`")));
            };
            let Section::Rectangle { width_mm, depth_mm } = stock.section else {
                return Err(Violation::new("slats.stock", "slats must have a rectangular section"));
            };
            Ok((density * depth_mm * 1e-3 * width_mm / (width_mm + gap_mm), depth_mm))
        }
    }
}

/// Thickness of a mattress, as bought, where there is bedding and the design does not say how thick, mm (common practice, no
/// source): for the height over it, and for how high its mass is on the road.
pub const MATTRESS_MM: f64 = 100.0;

/// Tags of the decks whose mattress is taken as [`MATTRESS_MM`] thick.
pub fn mattress_taken(design: &Design) -> Vec<String> {
    let taken = design.decks.iter().filter(|deck| deck.bedding_kg > 0.0 && deck.mattress_mm.is_none());
    taken.map(|deck| deck.tag.clone()).collect()
}
