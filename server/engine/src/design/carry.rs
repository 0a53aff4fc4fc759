//! What became of the members a remark was placed on, from revision to revision: a pure function of the original and
//! the chain of designs after it.
//!
//! A step from one design to the next is one-to-one. The same tag is the same member, kept or moved. A tag that is not
//! there any more goes on in a new tag of the same kind whose ends lie within [`NEAR_MM`] (renamed), else in the new
//! members that together cover its axis (split: the remark goes to the piece that holds its place), else it is gone. Ties:
//! the longest common axis, then the byte order of tags. When a tag that was gone returns to its place, it is back.

use super::vector::{add, dot, norm, scale, sub, unit};
use super::{Design, Member, Stock, Vector};
use std::collections::BTreeMap;

/// Ends that lie closer are the same place, mm.
const NEAR_MM: f64 = 20.0;

/// What a step makes of one member.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// Same tag, same place; all else may have changed.
    Kept,
    /// Same tag, elsewhere.
    Moved {
        /// Tag of the member that now lies where it lay, if one does.
        there_now: Option<String>,
    },
    /// Another tag at its place.
    Renamed {
        /// The new tag.
        to: String,
    },
    /// Pieces with new tags cover its axis.
    Split {
        /// Their tags, along the old axis.
        pieces: Vec<String>,
    },
    /// Nothing goes on in its place.
    Gone,
}

/// What a step from one design to the next makes of every member of the first, by tag.
pub fn step(before: &Design, after: &Design) -> BTreeMap<String, Fate> {
    let (old, new) = (by_tag(before), by_tag(after));
    let mut fates = BTreeMap::new();
    let mut open: Vec<&Member> = Vec::new();
    for (tag, member) in &old {
        match new.get(tag) {
            Some(now) if same_place(member, now) => _ = fates.insert((*tag).to_owned(), Fate::Kept),
            Some(_) => {
                let there = new.values().filter(|other| other.tag != *tag && same_place(member, other));
                let there_now = longest(member, there).map(|other| other.tag.clone());
                fates.insert((*tag).to_owned(), Fate::Moved { there_now });
            }
            None => open.push(member),
        }
    }
    let mut fresh: Vec<&Member> =
        new.values().filter(|member| !old.contains_key(member.tag.as_str())).copied().collect();
    for (tag, to) in renamed(&open, &fresh) {
        open.retain(|member| member.tag != tag);
        fresh.retain(|member| member.tag != to);
        fates.insert(tag, Fate::Renamed { to });
    }
    for (member, pieces) in pieces(&open, &fresh) {
        let fate = if pieces.is_empty() { Fate::Gone } else { Fate::Split { pieces } };
        fates.insert(member, fate);
    }
    fates
}

fn by_tag(design: &Design) -> BTreeMap<&str, &Member> {
    design.members.iter().map(|member| (member.tag.as_str(), member)).collect()
}

/// True where the ends of both lie together, either way round.
fn same_place(one: &Member, other: &Member) -> bool {
    let near = |a: Vector, b: Vector| norm(sub(a, b)) <= NEAR_MM;
    (near(one.from, other.from) && near(one.to, other.to)) || (near(one.from, other.to) && near(one.to, other.from))
}

/// Range of `other` along the axis of `member`, cut to it, mm; `None` where it lies elsewhere.
fn common(member: &Member, other: &Member) -> Option<[f64; 2]> {
    let axis = unit(sub(member.to, member.from))?;
    let length = norm(sub(member.to, member.from));
    let place = |point: Vector| {
        let along = dot(sub(point, member.from), axis);
        let beside = norm(sub(point, add(member.from, scale(axis, along))));
        (beside <= NEAR_MM).then_some(along)
    };
    let (a, b) = (place(other.from)?, place(other.to)?);
    let range = [a.min(b).max(0.0), a.max(b).min(length)];
    (range[1] > range[0]).then_some(range)
}

fn common_mm(member: &Member, other: &Member) -> f64 {
    common(member, other).map_or(0.0, |[from, to]| to - from)
}

/// The one with the longest common axis; of equals the first by tag.
fn longest<'a>(member: &Member, others: impl Iterator<Item = &'a &'a Member>) -> Option<&'a Member> {
    let better = |best: &'a Member, other: &'a Member| {
        let (a, b) = (common_mm(member, best), common_mm(member, other));
        if b > a + 1e-9 || ((a - b).abs() <= 1e-9 && other.tag < best.tag) { other } else { best }
    };
    others.copied().reduce(better)
}

/// Pairs of old and new tags of one kind and place, the longest common axis first, each tag once.
fn renamed(open: &[&Member], fresh: &[&Member]) -> Vec<(String, String)> {
    let mut pairs: Vec<(f64, &Member, &Member)> = Vec::new();
    for old in open {
        let likely = fresh.iter().filter(|new| new.kind == old.kind && same_place(old, new));
        pairs.extend(likely.map(|new| (common_mm(old, new), *old, *new)));
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| (&a.1.tag, &a.2.tag).cmp(&(&b.1.tag, &b.2.tag))));
    let mut taken: Vec<(String, String)> = Vec::new();
    for (_, old, new) in pairs {
        if taken.iter().all(|(from, to)| *from != old.tag && *to != new.tag) {
            taken.push((old.tag.clone(), new.tag.clone()));
        }
    }
    taken
}

/// The new members that cover each old one's axis, in order along it; none where they leave more than [`NEAR_MM`] bare.
/// Each new member is a piece of the old one with which it has the longest common axis.
fn pieces(open: &[&Member], fresh: &[&Member]) -> Vec<(String, Vec<String>)> {
    let mut of: BTreeMap<&str, Vec<([f64; 2], &Member)>> = BTreeMap::new();
    for new in fresh {
        let best = open.iter().filter(|old| common(old, new).is_some());
        let best = best.copied().reduce(|a, b| {
            let (x, y) = (common_mm(a, new), common_mm(b, new));
            if y > x + 1e-9 || ((x - y).abs() <= 1e-9 && b.tag < a.tag) { b } else { a }
        });
        if let Some((old, range)) = best.and_then(|old| Some((old, common(old, new)?))) {
            of.entry(&old.tag).or_default().push((range, new));
        }
    }
    open.iter()
        .map(|old| {
            let mut list = of.remove(old.tag.as_str()).unwrap_or_default();
            list.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]).then_with(|| a.1.tag.cmp(&b.1.tag)));
            let length = norm(sub(old.to, old.from));
            let covered = list
                .iter()
                .try_fold(0.0_f64, |so_far, (range, _)| (range[0] <= so_far + NEAR_MM).then_some(so_far.max(range[1])));
            let whole = covered.is_some_and(|covered| covered >= length - NEAR_MM);
            let tags = list.into_iter().map(|(_, piece)| piece.tag.clone());
            (old.tag.clone(), if whole { tags.collect() } else { Vec::new() })
        })
        .collect()
}

/// How a remark on a member stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Tag of the member it is on now; the last one where that is gone.
    pub tag: String,
    /// Place along that member from its start, mm, where the remark has one.
    pub at_mm: Option<f64>,
    /// What became of the member.
    pub what: What,
    /// Index in the chain of the design that made it so; 0 for the original.
    pub since: usize,
}

/// What became of a remark's member.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// As it was when the remark was made.
    AsItWas,
    /// Another stock, orientation, notch or hole, or ends that differ by less than [`NEAR_MM`].
    Changed,
    /// Elsewhere.
    Moved {
        /// Tag of the member that lies where it lay, if one does.
        there_now: Option<String>,
    },
    /// Renamed from this tag.
    Renamed {
        /// The tag before.
        from: String,
    },
    /// Cut up.
    Split {
        /// Tags of all pieces.
        pieces: Vec<String>,
    },
    /// Not there any more.
    Gone,
    /// There again, at its place.
    Back {
        /// Index in the chain of the design in which it was gone first.
        gone_since: usize,
    },
}

/// Follows a remark on a member of the first design through the chain; one standing a design, the first as it was. `None`
/// where the first design has no such member.
pub fn follow(chain: &[&Design], tag: &str, at_mm: Option<f64>) -> Option<Vec<Standing>> {
    let first = chain.first()?;
    let original = by_tag(first).get(tag).copied()?;
    let stock_of = |design: &Design, member: &Member| design.stock.iter().find(|s| s.name == member.stock).cloned();
    let was = (original, stock_of(first, original));
    // The member as it was last seen, for finding it again when it is gone.
    let mut seen = original;
    let mut standing = Standing { tag: tag.to_owned(), at_mm, what: What::AsItWas, since: 0 };
    let mut list = vec![standing.clone()];
    for (index, pair) in chain.windows(2).enumerate() {
        let (before, after) = (pair[0], pair[1]);
        standing = next(&standing, seen, before, after, index + 1);
        if let Some(now) = by_tag(after).get(standing.tag.as_str()).copied().filter(|_| standing.what != What::Gone) {
            let as_it_was = same_member(was.0, was.1.as_ref(), now, stock_of(after, now).as_ref());
            standing = settle(standing, as_it_was, seen == now, index + 1);
            seen = now;
        }
        list.push(standing.clone());
    }
    Some(list)
}

/// True where nothing of the member differs.
fn same_member(one: &Member, its: Option<&Stock>, other: &Member, others: Option<&Stock>) -> bool {
    one == other && its == others
}

/// A member that is where it was: as it was, changed, or what was said before.
fn settle(standing: Standing, as_it_was: bool, untouched: bool, index: usize) -> Standing {
    match (&standing.what, as_it_was) {
        // Whatever was said of it, it is again what the remark was made on.
        (What::Changed | What::Moved { .. }, true) => Standing { what: What::AsItWas, since: index, ..standing },
        (What::AsItWas, false) => Standing { what: What::Changed, since: index, ..standing },
        (What::Changed, false) if !untouched => Standing { since: index, ..standing },
        _ => standing,
    }
}

/// One step of a remark.
fn next(standing: &Standing, seen: &Member, before: &Design, after: &Design, index: usize) -> Standing {
    let now = by_tag(after);
    let anew = |tag: String, at_mm: Option<f64>, what: What| Standing { tag, at_mm, what, since: index };
    if standing.what == What::Gone {
        let back = now.get(standing.tag.as_str()).filter(|member| same_place(seen, member));
        return match back {
            Some(member) => {
                let at_mm = standing.at_mm.map(|at| along(seen, member, at));
                anew(standing.tag.clone(), at_mm, What::Back { gone_since: standing.since })
            }
            None => standing.clone(),
        };
    }
    let at_on = |tag: &str| {
        let member = now.get(tag)?;
        Some(along(seen, member, standing.at_mm?))
    };
    match step(before, after).remove(&standing.tag).unwrap_or(Fate::Gone) {
        Fate::Kept => Standing { at_mm: at_on(&standing.tag), ..standing.clone() },
        Fate::Moved { there_now } => {
            let length = now.get(standing.tag.as_str()).map_or(f64::MAX, |member| norm(sub(member.to, member.from)));
            // Elsewhere, the place goes along from the marked end.
            anew(standing.tag.clone(), standing.at_mm.map(|at| at.min(length)), What::Moved { there_now })
        }
        Fate::Renamed { to } => anew(to.clone(), at_on(&to), What::Renamed { from: standing.tag.clone() }),
        Fate::Split { pieces } => {
            let holds = |tag: &&String| {
                let piece = now.get(tag.as_str());
                piece.and_then(|piece| common(seen, piece)).is_some_and(|[from, to]| {
                    standing.at_mm.is_some_and(|at| from - NEAR_MM <= at && at <= to + NEAR_MM)
                })
            };
            let candidates: Vec<&Member> =
                pieces.iter().filter(holds).filter_map(|tag| now.get(tag.as_str()).copied()).collect();
            let all: Vec<&Member> = pieces.iter().filter_map(|tag| now.get(tag.as_str()).copied()).collect();
            let pick = longest(seen, if candidates.is_empty() { all.iter() } else { candidates.iter() });
            let tag = pick.map_or_else(|| standing.tag.clone(), |member| member.tag.clone());
            anew(tag.clone(), at_on(&tag), What::Split { pieces })
        }
        Fate::Gone => anew(standing.tag.clone(), standing.at_mm, What::Gone),
    }
}

/// A place along one member as a place along another that lies there, mm, within it.
fn along(old: &Member, new: &Member, at_mm: f64) -> f64 {
    let (Some(axis), Some(new_axis)) = (unit(sub(old.to, old.from)), unit(sub(new.to, new.from))) else { return at_mm };
    let point = add(old.from, scale(axis, at_mm));
    dot(sub(point, new.from), new_axis).clamp(0.0, norm(sub(new.to, new.from)))
}

#[cfg(test)]
mod tests;
