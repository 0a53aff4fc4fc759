//! Decks between their members: each slat, or a strip of sheet, as a simple beam.
//!
//! A slat takes all that lies on its pitch and shares nothing with its neighbours. A sheet spreads a patch sideways
//! between two members as the plate it is ([`plate`]): the strip is as wide as makes it bend as hard as the plate
//! does; in shear and on overhangs it is only as wide as the patch. Neither leans on its own continuity over the
//! members, which is on the safe side. Where a deck reaches past its outermost member it is a cantilever from there.
//! Slats are checked as timber flatwise (ungraded ones as what [`ungraded`] says); sheets by EN 1995-1-1 6.1.6 and 6.1.7 with the sheet's bending and planar
//! (rolling) shear strengths. Sag, at once and in the end, is limited to span/150 (P).

mod loads;
mod plate;
mod proof;
mod strip;

use super::combine::road::{self, Accelerations};
use super::combine::{Case, Combined, combinations};
use super::judge::{SagLimits, State, Subject, judge};
use super::strength::Resistance;
use crate::design::surface::FrameDeck;
use crate::design::{Deck, DeckSurface, Design, Frame, Material, Section, Stock, ungraded};
use crate::error::CheckError;
use crate::findings::{Check, CheckKind, Factor, NotChecked, Unchecked};
use crate::statics::patch::Patch;
use crate::tables::factors::{Product, gamma_m, k_def};
use crate::tables::panel::PanelBending;
use crate::tables::{self, Entry};
use loads::DeckCase;
use plate::Plate;
pub use proof::{DeckProof, OnPatch, proof};
use strip::Reach;

/// What was found of all decks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DeckChecks {
    /// For each deck its governing bending, shear and sag.
    pub checks: Vec<Check>,
    /// Decks whose strength is not known.
    pub not_checked: Vec<NotChecked>,
}

/// What a deck is made of.
#[derive(Clone, Copy, Debug)]
struct Surface {
    /// `None`: a sheet.
    slat: Option<Slat>,
    thickness_mm: f64,
    e_n_mm2: f64,
    g_n_mm2: f64,
    product: Product,
    strength: Strength,
}

#[derive(Clone, Copy, Debug)]
struct Slat {
    width_mm: f64,
    pitch_mm: f64,
}

#[derive(Clone, Copy, Debug)]
enum Strength {
    Timber(&'static tables::timber::TimberClass),
    /// Slats sawn out of sheet.
    Strip(&'static tables::panel::Panel),
    Sheet {
        f_m_k: f64,
        f_r_k: f64,
        plate: Plate,
    },
    Unknown,
}

/// Checks every deck of a frame under all combinations of what lies on it.
///
/// # Errors
/// [`CheckError::TooManyCombinations`].
pub fn checks(frame: &Frame, service_class: u8) -> Result<DeckChecks, CheckError> {
    let mut result = DeckChecks::default();
    let design = frame.design();
    for (deck, stated) in frame.decks.iter().zip(&design.decks) {
        let not_checked = |what| NotChecked { tag: stated.tag.clone(), what };
        let Some(surface) = surface(design, stated) else {
            result.not_checked.push(not_checked(Unchecked::StrengthUnknown));
            continue;
        };
        if matches!(surface.strength, Strength::Unknown) {
            result.not_checked.push(not_checked(Unchecked::StrengthUnknown));
        }
        let cases = loads::cases(frame, deck, stated);
        result.checks.extend(deck_checks(design, deck, stated, &surface, &cases, service_class)?);
    }
    Ok(result)
}

fn deck_checks(
    design: &Design,
    deck: &FrameDeck,
    stated: &Deck,
    surface: &Surface,
    cases: &[DeckCase],
    service_class: u8,
) -> Result<Vec<Check>, CheckError> {
    let names: Vec<Case> = cases.iter().map(|c| c.case.clone()).collect();
    let mut combined = combinations(&names, &design.settings, k_def(surface.product, service_class))?;
    let bumps = Accelerations::new(&design.vehicle, &design.settings).motions().into_iter().filter(|m| m.down > 1.0);
    combined.extend(road::combinations(&names, &bumps.collect::<Vec<_>>(), &design.settings));
    let mut worst: Vec<Check> = Vec::new();
    for (owner, patch, range) in strips(deck, surface, cases) {
        let mine: Vec<&Combined> =
            combined.iter().filter(|c| owner.is_none_or(|own| c.terms.iter().any(|term| term.0 == own))).collect();
        for reach in strip::reaches(deck) {
            if owner.is_some_and(|own| !cases[own].touches(&reach, range)) {
                continue;
            }
            let strip = Strip::new(deck, stated, surface, patch, range, reach);
            for check in strip.checks(cases, &mine, service_class) {
                keep_worst(&mut worst, check);
            }
        }
    }
    worst.sort_by_key(|check| check.kind);
    Ok(worst)
}

fn keep_worst(worst: &mut Vec<Check>, check: Check) {
    match worst.iter_mut().find(|other| other.kind == check.kind) {
        Some(other) if check.utilisation > other.utilisation * (1.0 + 1e-9) => *other = check,
        Some(_) => {}
        None => worst.push(check),
    }
}

/// Where strips are tried: one in the middle for what is spread over the whole deck, one under each patch. A slat's
/// strip is its pitch. Before each strip the case it belongs to and its patch.
fn strips(deck: &FrameDeck, surface: &Surface, cases: &[DeckCase]) -> Vec<(Option<usize>, Option<Patch>, [f64; 2])> {
    let fit = |range: [f64; 2]| match surface.slat {
        Some(slat) => around(middle(range), slat.pitch_mm),
        None => range,
    };
    let mut strips = vec![(None, None, fit(around(middle(deck.along_mm), 1.0)))];
    for (index, case) in cases.iter().enumerate() {
        strips.extend(case.patches.iter().map(|(patch, _)| (Some(index), Some(*patch), fit(patch.along))));
    }
    strips
}

fn middle(range: [f64; 2]) -> f64 {
    0.5 * (range[0] + range[1])
}

fn around(place: f64, width: f64) -> [f64; 2] {
    [place - 0.5 * width, place + 0.5 * width]
}

/// One strip over one span or overhang.
struct Strip<'a> {
    deck: &'a FrameDeck,
    stated: &'a Deck,
    surface: &'a Surface,
    /// Where it takes load from along the members, mm.
    range: [f64; 2],
    /// Width that bears shear, mm. What lies on the whole strip counts there, too: a trifle on the safe side.
    shear_width_mm: f64,
    /// Whether patches count; not in the strip for what is spread over the whole deck: each has its own strip.
    patches: bool,
    reach: Reach,
}

impl<'a> Strip<'a> {
    fn new(
        deck: &'a FrameDeck,
        stated: &'a Deck,
        surface: &'a Surface,
        patch: Option<Patch>,
        range: [f64; 2],
        reach: Reach,
    ) -> Self {
        let taken = range[1] - range[0];
        let range = match (patch, &surface.strength) {
            (Some(patch), Strength::Sheet { plate, .. }) if !reach.cantilever => {
                let over = reach.cut(patch.across).unwrap_or([0.0, reach.length_mm]);
                let width = plate.effective_width_mm(reach.length_mm, over, range, deck.along_mm);
                around(middle(range), width)
            }
            _ => range,
        };
        let shear_width_mm = surface.slat.map_or(taken, |slat| slat.width_mm);
        Self { deck, stated, surface, range, shear_width_mm, patches: patch.is_some(), reach }
    }
}

impl Strip<'_> {
    fn checks(&self, cases: &[DeckCase], combined: &[&Combined], service_class: u8) -> Vec<Check> {
        let taken = self.range[1] - self.range[0];
        let width = self.surface.slat.map_or(taken, |slat| slat.width_mm);
        let mut beam = self.surface.beam(width);
        if let Some(resistance) = &mut beam.resistance {
            resistance.shear_peak_z = resistance.shear_peak_z.map(|peak| peak * width / self.shear_width_mm);
        }
        let loads: Vec<Vec<strip::Spread>> =
            cases.iter().map(|case| case.on(&self.reach, self.range, self.patches)).collect();
        let pieces: Vec<_> = combined
            .iter()
            .map(|combination| {
                let spread = combination.terms.iter().flat_map(|(case, factor)| {
                    loads[*case].iter().map(move |load| strip::Spread { line_n_mm: load.line_n_mm * factor, ..*load })
                });
                strip::pieces(&self.reach, spread.collect(), &beam)
            })
            .collect();
        let states: Vec<State<'_>> = combined
            .iter()
            .zip(&pieces)
            .map(|(combination, pieces)| State {
                combination: &combination.name,
                limit_state: combination.limit_state,
                k_mod: combination.k_mod(self.surface.product, service_class),
                buckling_mm: None,
                pieces,
            })
            .collect();
        let supports = [0.0, self.reach.length_mm];
        let subject = self.subject(&beam, &supports);
        judge(&subject, &states).into_iter().filter_map(|check| self.finished(check, width)).collect()
    }

    fn subject<'b>(&'b self, beam: &strip::Beam, supports: &'b [f64; 2]) -> Subject<'b> {
        let (across, along) = (self.deck.across(), self.deck.along);
        let mut from = [0.0, 0.0, self.deck.top_mm];
        from[across] = self.reach.start_mm;
        from[along] = 0.5 * (self.range[0] + self.range[1]);
        let mut direction = [0.0; 3];
        direction[across] = self.reach.direction;
        Subject {
            tag: &self.stated.tag,
            kind: "deck",
            from,
            along: direction,
            length_mm: self.reach.length_mm,
            resistance: beam.resistance,
            metal: None,
            shear_stiffness_n: [None, Some(beam.shear_stiffness_n)],
            supports_mm: if self.reach.cantilever { &supports[..1] } else { supports },
            unheld: &[],
            limits: SagLimits {
                span_final: 150.0,
                span_instant: 150.0,
                overhang_final: 150.0,
                overhang_instant: 150.0,
            },
            sag_limit_mm: None,
        }
    }

    /// The same check as one of a deck, its place counted from the deck's edge.
    fn finished(&self, mut check: Check, width_mm: f64) -> Option<Check> {
        let sheet = matches!(self.surface.strength, Strength::Sheet { .. });
        check.kind = match check.kind {
            CheckKind::Bending => CheckKind::DeckBending,
            CheckKind::Shear => CheckKind::DeckShear,
            CheckKind::SagInstant | CheckKind::SagFinal => CheckKind::DeckSag,
            _ => return None,
        };
        if sheet && check.kind == CheckKind::DeckShear {
            "EN 1995-1-1 6.1.7 (6.13), planar shear".clone_into(&mut check.clause);
        }
        check.at_mm = check.point_mm[self.deck.across()] - self.deck.across_mm[0];
        if check.kind != CheckKind::DeckSag {
            check.factors.push(Factor { name: "l".to_owned(), value: self.reach.length_mm });
        }
        let width = if check.kind == CheckKind::DeckShear { self.shear_width_mm } else { width_mm };
        check.factors.push(Factor { name: "b".to_owned(), value: width });
        Some(check)
    }
}

impl Surface {
    /// The beam that a width of it makes.
    fn beam(&self, width_mm: f64) -> strip::Beam {
        let section = Section::Rectangle { width_mm, depth_mm: self.thickness_mm };
        let area = width_mm * self.thickness_mm;
        let resistance = match self.strength {
            Strength::Timber(class) => Some(Resistance::new(&section, class, 0.0, 0.0)),
            Strength::Strip(panel) => super::strength::strip::resistance(&section, panel, 0.0, 0.0),
            Strength::Sheet { f_m_k, f_r_k, .. } => Some(sheet_resistance(width_mm, self.thickness_mm, f_m_k, f_r_k)),
            Strength::Unknown => None,
        };
        strip::Beam {
            bending_stiffness_n_mm2: self.e_n_mm2 * area * self.thickness_mm.powi(2) / 12.0,
            shear_stiffness_n: self.g_n_mm2 * area * 5.0 / 6.0,
            resistance,
        }
    }
}

/// A strip of sheet bent flatwise: no size factor, no cracks, k_m has nothing to share.
fn sheet_resistance(width_mm: f64, thickness_mm: f64, f_m_k: f64, f_r_k: f64) -> Resistance {
    Resistance {
        area_mm2: width_mm * thickness_mm,
        wy_mm3: Some(width_mm * thickness_mm.powi(2) / 6.0),
        wz_mm3: None,
        shear_peak_y: None,
        shear_peak_z: Some(1.5),
        f_t_0_k: f64::INFINITY,
        f_c_0_k: f64::INFINITY,
        f_m_y_k: f_m_k,
        f_m_z_k: f_m_k,
        f_v_k: f_r_k,
        f_v_y_k: f_r_k,
        k_h_t: 1.0,
        k_h_y: 1.0,
        k_h_z: 1.0,
        k_m: 1.0,
        k_cr: 1.0,
        gamma_m: gamma_m(Product::Plywood),
        column_y: super::strength::column::Slenderness::default(),
        column_z: super::strength::column::Slenderness::default(),
        buckling: None,
        twist: None,
        lateral: None,
    }
}

/// What a deck is made of; `None` where not even its stiffness is known.
fn surface(design: &Design, deck: &Deck) -> Option<Surface> {
    match &deck.surface {
        DeckSurface::Sheet { material, thickness_mm, grain_across } => {
            let panel = tables::panel::panel(material, *thickness_mm)?;
            Some(sheet(panel.thickness_mm, &panel.bending?, *grain_across))
        }
        DeckSurface::Slats { stock, gap_mm } => {
            let stock = design.stock.iter().find(|s| s.name == *stock)?;
            let Section::Rectangle { width_mm, depth_mm } = stock.section else { return None };
            let (stiffness, product, strength) = material(stock, width_mm.min(depth_mm))?;
            Some(Surface {
                slat: Some(Slat { width_mm, pitch_mm: width_mm + gap_mm }),
                thickness_mm: depth_mm,
                e_n_mm2: stiffness.e_n_mm2,
                g_n_mm2: stiffness.g_n_mm2,
                product,
                strength,
            })
        }
    }
}

/// A sheet spanning along its face grain (`grain_across` the members) or across it.
fn sheet(thickness_mm: f64, bending: &PanelBending, grain_across: bool) -> Surface {
    let (along, across) = ([bending.e_m_along, bending.f_m_along_k], [bending.e_m_across, bending.f_m_across_k]);
    let ([e_n_mm2, f_m_k], sideways, g_n_mm2, f_r_k) = if grain_across {
        (along, across, bending.g_r_along, bending.f_r_along_k)
    } else {
        (across, along, bending.g_r_across, bending.f_r_across_k)
    };
    let plate = Plate::new([e_n_mm2, sideways[0]], bending.g_v, f_m_k / sideways[1]);
    let strength = Strength::Sheet { f_m_k, f_r_k, plate };
    Surface { slat: None, thickness_mm, e_n_mm2, g_n_mm2, product: Product::Plywood, strength }
}

/// Stiffness, product and strength of a slat's stock.
fn material(stock: &Stock, least_side_mm: f64) -> Option<(tables::Stiffness, Product, Strength)> {
    match &stock.material {
        Material::Given { e_n_mm2, g_n_mm2, density_kg_m3 } => {
            let stiffness = tables::Stiffness { e_n_mm2: *e_n_mm2, g_n_mm2: *g_n_mm2, density_kg_m3: *density_kg_m3 };
            Some((stiffness, Product::Solid, Strength::Unknown))
        }
        Material::Class(name) => {
            let entry = tables::find(name, Some(least_side_mm))?;
            let entry = ungraded::taken_as(stock).map_or(entry, Entry::Timber);
            let (product, strength) = match entry {
                Entry::Timber(class) => (class.family.into(), Strength::Timber(class)),
                Entry::Metal(_) => (Product::Solid, Strength::Unknown),
                Entry::Panel(panel) if panel.in_plane.is_some() => (Product::Plywood, Strength::Strip(panel)),
                Entry::Panel(_) => (Product::Plywood, Strength::Unknown),
            };
            Some((entry.stiffness()?, product, strength))
        }
    }
}

#[cfg(test)]
mod tests;
