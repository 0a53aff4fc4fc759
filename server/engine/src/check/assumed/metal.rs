//! What is taken for granted of metal members, and what of them is not checked.

use super::List;
use crate::check::members;
use crate::design::Frame;
use crate::design::Section;
use crate::design::frame::FrameMaterial;
use crate::findings::{AssumptionCode, Unchecked};
use crate::rules::judge::Unheld;
use crate::tables::metal::{MetalKind, metal};
use std::collections::BTreeSet;

/// Assumptions behind the checks of metal members.
pub(super) fn assumptions(frame: &Frame, list: &mut List) {
    let (mut judged, mut unwelded, mut profiles) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    for (index, member) in frame.members.iter().enumerate() {
        let FrameMaterial::Metal(name) = member.material else { continue };
        if members::metal(frame, index, &[]).is_none() {
            continue;
        }
        let stock = &frame.design().stock[member.stock];
        judged.insert(stock.name.clone());
        if metal(name).is_some_and(|class| class.kind != MetalKind::Steel) {
            unwelded.insert(stock.name.clone());
        }
        if matches!(stock.section, Section::Given(_)) {
            profiles.insert(stock.name.clone());
        }
    }
    list.put_if_any(AssumptionCode::MetalElastic, judged.into_iter().collect());
    list.put_if_any(AssumptionCode::MetalUnwelded, unwelded.into_iter().collect());
    list.put_if_any(AssumptionCode::MetalProfile, profiles.into_iter().collect());
}

/// What of a metal member is not checked: everything where no rule fits it ([`crate::rules::metal::MetalResistance::new`]
/// says when), else shear and torsion of a profile whose figures do not tell, tipping over where nothing holds it upright,
/// notches and holes where it has any. `unheld`: the stretches over which it may tip.
pub(super) fn not_checked(frame: &Frame, member: usize, unheld: &[Unheld]) -> Vec<Unchecked> {
    let Some(resistance) = members::metal(frame, member, unheld) else { return vec![Unchecked::Metal] };
    let mut list = Vec::new();
    if unheld.is_empty() && resistance.tips() {
        list.push(Unchecked::LateralBuckling);
    }
    if !resistance.stresses.shear_known() {
        list.push(Unchecked::Shear);
    }
    if !resistance.stresses.torsion_known() {
        list.push(Unchecked::Torsion);
    }
    let stated = &frame.design().members[member];
    if !stated.notches.is_empty() || !stated.holes.is_empty() {
        list.push(Unchecked::Notches);
    }
    list
}
