//! What a step makes of members.

use super::grid::Grid;
use super::items::{Part, Parts};
use super::{Fate, NEAR_MM};
use crate::design::vector::{add, dot, norm, scale, sub, unit};
use crate::design::{Member, Vector};
use std::collections::{BTreeMap, BTreeSet};

/// Most new names that are looked at for one member: more timbers than can lie at one place.
const MOST_AT_ONE_PLACE: usize = 64;

/// What a step from one design's members to the next makes of every member of the first, by tag.
pub(super) fn fates(old: &Parts, new: &Parts) -> BTreeMap<String, Fate> {
    let mut fates = BTreeMap::new();
    let mut open: Vec<&Member> = Vec::new();
    let everywhere = Grid::of(new.iter().map(|(tag, part)| (tag.as_str(), part)));
    for (tag, part) in old {
        let fate = match new.get(tag) {
            Some(now) if now.item.same_place(&part.item) => Fate::Kept,
            Some(_) => {
                let there = everywhere.there(&part.item).filter(|(other, _)| other != tag);
                let there: Vec<&Member> = there.filter_map(|(_, part)| part.item.member()).collect();
                let longest = part.item.member().and_then(|member| longest(member, there));
                Fate::Moved { there_now: longest.map(|other| other.tag.clone()) }
            }
            None => {
                open.extend(part.item.member());
                continue;
            }
        };
        fates.insert(tag.clone(), fate);
    }
    let is_new = |(tag, _): &(&str, &Part)| !old.contains_key(*tag);
    let mut fresh: Vec<(&str, &Part)> = new.iter().map(|(tag, part)| (tag.as_str(), part)).filter(is_new).collect();
    let renamed = renamed(&open, old, &Grid::of(fresh.iter().copied()));
    let taken: BTreeSet<&str> = renamed.values().map(String::as_str).collect();
    open.retain(|member| !renamed.contains_key(&member.tag));
    fresh.retain(|(tag, _)| !taken.contains(tag));
    let fresh: Vec<&Member> = fresh.into_iter().filter_map(|(_, part)| part.item.member()).collect();
    for (member, pieces) in pieces(&open, &fresh) {
        let fate = if pieces.is_empty() { Fate::Gone } else { Fate::Split { pieces } };
        fates.insert(member, fate);
    }
    fates.extend(renamed.into_iter().map(|(tag, to)| (tag, Fate::Renamed { to })));
    fates
}

/// Range of `other` along the axis of `member`, cut to it, mm; `None` where it lies elsewhere.
pub(super) fn common(member: &Member, other: &Member) -> Option<[f64; 2]> {
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
pub(super) fn longest<'a>(member: &Member, others: impl IntoIterator<Item = &'a Member>) -> Option<&'a Member> {
    let better = |best: &'a Member, other: &'a Member| {
        let (a, b) = (common_mm(member, best), common_mm(member, other));
        if b > a + 1e-9 || ((a - b).abs() <= 1e-9 && other.tag < best.tag) { other } else { best }
    };
    others.into_iter().reduce(better)
}

/// New tags by old ones of one kind and place, the longest common axis first, each tag once.
fn renamed(open: &[&Member], old: &Parts, fresh: &Grid<'_>) -> BTreeMap<String, String> {
    let mut pairs: Vec<(f64, &Member, &Member)> = Vec::new();
    for member in open {
        let Some(part) = old.get(&member.tag) else { continue };
        let there = fresh.there(&part.item).filter_map(|(_, part)| part.item.member());
        let likely = there.filter(|new| new.kind == member.kind).take(MOST_AT_ONE_PLACE);
        pairs.extend(likely.map(|new| (common_mm(member, new), *member, new)));
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| (&a.1.tag, &a.2.tag).cmp(&(&b.1.tag, &b.2.tag))));
    let mut renamed = BTreeMap::new();
    let mut taken: BTreeSet<&str> = BTreeSet::new();
    for (_, old, new) in pairs {
        if !renamed.contains_key(&old.tag) && taken.insert(&new.tag) {
            renamed.insert(old.tag.clone(), new.tag.clone());
        }
    }
    renamed
}

/// The new members that cover each old one's axis, in order along it; none where they leave more than [`NEAR_MM`] bare.
/// Each new member is a piece of the old one with which it has the longest common axis.
fn pieces(open: &[&Member], fresh: &[&Member]) -> Vec<(String, Vec<String>)> {
    let mut of: BTreeMap<&str, Vec<([f64; 2], &Member)>> = BTreeMap::new();
    for new in fresh {
        let likely = open.iter().filter_map(|old| Some((*old, common(old, new)?)));
        let best = likely.reduce(|a, b| {
            let (x, y) = (a.1[1] - a.1[0], b.1[1] - b.1[0]);
            if y > x + 1e-9 || ((x - y).abs() <= 1e-9 && b.0.tag < a.0.tag) { b } else { a }
        });
        if let Some((old, range)) = best {
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

/// The piece that holds a place of a member (mm from its start), or the longest where none does or no place is said.
pub(super) fn piece_at<'a>(seen: &Member, pieces: &[&'a Member], at_mm: Option<f64>) -> Option<&'a Member> {
    let holds = |piece: &&&Member| {
        let range = common(seen, piece);
        range.is_some_and(|[from, to]| at_mm.is_some_and(|at| from - NEAR_MM <= at && at <= to + NEAR_MM))
    };
    let holding: Vec<&Member> = pieces.iter().filter(holds).copied().collect();
    longest(seen, if holding.is_empty() { pieces.to_vec() } else { holding })
}

/// A place along one member as a place along another that lies there, mm, within it.
pub(super) fn along(old: &Member, new: &Member, at_mm: f64) -> f64 {
    let (Some(axis), Some(new_axis)) = (unit(sub(old.to, old.from)), unit(sub(new.to, new.from))) else { return at_mm };
    let point = add(old.from, scale(axis, at_mm));
    dot(sub(point, new.from), new_axis).clamp(0.0, norm(sub(new.to, new.from)))
}

/// Length of a member's axis, mm.
pub(super) fn length_mm(member: &Member) -> f64 {
    norm(sub(member.to, member.from))
}
