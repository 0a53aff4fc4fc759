//! The smallest stock that mends what falls short, each tried by a full run of the changed frame.

use super::{Ask, CheckError, check};
use crate::design::{Design, Frame, Stock};
use crate::findings::{Check, Findings, Mend, Verdict};
use std::collections::BTreeMap;

/// Most groups of members a mend is sought for.
const GROUPS_MAX: usize = 8;

/// Adds mends to the checks of members that fall short: members of one row (same letters before the number, same
/// kind and stock) are changed together, to the lightest stock of the design that makes all their checks hold.
///
/// # Errors
/// [`CheckError::Stopped`].
pub fn add(frame: &Frame, findings: &mut Findings, stop: &dyn Fn() -> bool) -> Result<(), CheckError> {
    let design = frame.design();
    let mut mends: BTreeMap<Group, Option<Mend>> = BTreeMap::new();
    let short: Vec<Group> = findings
        .checks
        .iter()
        .filter(|c| c.verdict == Verdict::FallsShort)
        .filter_map(|c| group_of(design, &c.tag))
        .collect();
    for group in short {
        if mends.contains_key(&group) || mends.len() >= GROUPS_MAX {
            continue;
        }
        let mend = find(frame, findings, &group, stop)?;
        mends.insert(group, mend);
    }
    for check in findings.checks.iter_mut().filter(|c| c.verdict == Verdict::FallsShort) {
        check.mend = group_of(design, &check.tag).and_then(|g| mends.get(&g).cloned().flatten());
    }
    Ok(())
}

/// Members that are bought and cut alike: letters of the tag, kind, stock.
type Group = (String, String, String);

fn group_of(design: &Design, tag: &str) -> Option<Group> {
    let member = design.members.iter().find(|m| m.tag == tag)?;
    Some((letters(tag).to_owned(), member.kind.clone(), member.stock.clone()))
}

fn letters(tag: &str) -> &str {
    tag.trim_end_matches(|c: char| c.is_ascii_digit())
}

fn mass_per_mm(stock: &Stock) -> Option<f64> {
    let figures = crate::design::section::of(stock);
    let (.., density) = crate::design::stiffness_of(stock)?;
    Some(figures.area_mm2 * density)
}

fn find(frame: &Frame, before: &Findings, group: &Group, stop: &dyn Fn() -> bool) -> Result<Option<Mend>, CheckError> {
    let design = frame.design();
    let tags: Vec<String> = design
        .members
        .iter()
        .filter(|m| group_of(design, &m.tag).as_ref() == Some(group))
        .map(|m| m.tag.clone())
        .collect();
    let mut choices: Vec<(f64, &Stock)> =
        design.stock.iter().filter(|s| s.name != group.2).filter_map(|s| Some((mass_per_mm(s)?, s))).collect();
    choices.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.name.cmp(&b.1.name)));
    for (_, stock) in choices {
        let Some(changed) = with_stock(design, &tags, &stock.name) else { continue };
        let after = check(&changed, Ask::default(), stop)?;
        let worst = |c: &&Check| tags.contains(&c.tag);
        let own = after.checks.iter().filter(worst).map(|c| c.utilisation).fold(0.0, f64::max);
        let computed = after.checks.iter().any(|c| tags.contains(&c.tag));
        if !computed || Verdict::of(own) == Verdict::FallsShort || after.faults.len() > before.faults.len() {
            continue;
        }
        let next = after.checks.first();
        return Ok(Some(Mend {
            members: tags,
            from_stock: group.2.clone(),
            to_stock: stock.name.clone(),
            utilisation: own,
            mass_change_kg: after.weight.total_kg - before.weight.total_kg,
            next_worst: next.map_or(0.0, |c| c.utilisation),
            next_worst_tag: next.map_or_else(String::new, |c| c.tag.clone()),
        }));
    }
    Ok(None)
}

/// The frame with other stock for some members. Their axes move so that the faces on which they lie stay where they
/// are: a deeper bearer stays on its rail and raises the deck. `None` where the changed design has faults.
pub fn with_stock(design: &Design, tags: &[String], stock: &str) -> Option<Frame> {
    let depth = |name: &str| {
        let item = design.stock.iter().find(|s| s.name == name)?;
        crate::design::section::properties(&item.section).depth_mm
    };
    let mut changed = design.clone();
    for member in changed.members.iter_mut().filter(|m| tags.contains(&m.tag)) {
        let rise = 0.5 * (depth(stock)? - depth(&member.stock)?);
        let level = (member.to[2] - member.from[2]).abs() < 1.0 && member.roll_deg == 0.0 && member.up.is_none();
        if level {
            member.from[2] += rise;
            member.to[2] += rise;
        }
        member.stock = stock.to_owned();
    }
    Frame::new(&changed).ok()
}
