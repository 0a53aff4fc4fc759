//! What was taken for granted and what was left out, so that nothing is assumed in silence.

mod metal;

use crate::check::holds;
use crate::check::members::{self, SERVICE_CLASS};
use crate::design::frame::FrameMaterial;
use crate::design::{Frame, Grading, Grip, Material, surface, ungraded};
use crate::findings::{Assumption, AssumptionCode, Check, CheckKind, NotChecked, Unchecked};
use crate::statics::Analysis;
use crate::statics::load::PERSON_KG;
use crate::tables;
use std::collections::BTreeSet;

/// How columns were judged.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    /// Members whose buckling length comes from the frame in some combination.
    pub by_frame: BTreeSet<usize>,
    /// Names of the combinations by second order.
    pub second_order: Vec<String>,
}

struct List(Vec<Assumption>);

impl List {
    fn put(&mut self, code: AssumptionCode, about: Vec<String>, value: Option<f64>) {
        self.0.push(Assumption { code, about, value });
    }

    fn put_if_any(&mut self, code: AssumptionCode, about: Vec<String>) {
        if !about.is_empty() {
            self.put(code, about, None);
        }
    }
}

/// Every default behind the findings, the most important first.
pub fn assumptions(
    analysis: &Analysis<'_>,
    checks: &[Check],
    columns: &Columns,
    by_size: Vec<String>,
) -> Vec<Assumption> {
    let frame = analysis.frame;
    let mut list = List(Vec::new());
    for item in &frame.design().to_be_measured {
        list.put(AssumptionCode::ToBeMeasured, vec![item.tag.clone(), item.what.clone()], None);
    }
    timber(frame, &mut list);
    people(frame, &mut list);
    holds(frame, &mut list);
    self::columns(frame, checks, columns, &mut list);
    lateral(checks, &mut list);
    factors(frame, &mut list);
    if !frame.decks.is_empty() {
        let decks: Vec<String> = frame.design().decks.iter().map(|d| d.tag.clone()).collect();
        list.put(AssumptionCode::DeckOneWay, decks.clone(), None);
        list.put(AssumptionCode::NoDiaphragm, decks, None);
        list.put(AssumptionCode::SharingFactor, Vec::new(), Some(1.0));
    }
    list.put_if_any(AssumptionCode::ContactLength, by_size);
    list.put(AssumptionCode::FixingsShare, Vec::new(), Some(crate::mass::FIXINGS_SHARE));
    let spinning = analysis.system.mesh.spinning.iter().map(|m| frame.design().members[*m].tag.clone()).collect();
    list.put_if_any(AssumptionCode::SpinSetAside, spinning);
    mattresses(frame, &mut list);
    metal::assumptions(frame, &mut list);
    from_memory(frame, &mut list);
    list.0.extend(super::road::assumptions(frame));
    list.0.sort_by_key(|a| a.code);
    list.0
}

/// Indices of the stock that members or slats use.
fn used_stock(frame: &Frame) -> BTreeSet<usize> {
    let mut used: BTreeSet<usize> = frame.members.iter().map(|m| m.stock).collect();
    for deck in &frame.design().decks {
        if let crate::design::DeckSurface::Slats { stock, .. } = &deck.surface {
            used.extend(frame.design().stock.iter().position(|s| s.name == *stock));
        }
    }
    used
}

fn timber(frame: &Frame, list: &mut List) {
    let stock = &frame.design().stock;
    let mut assumed = Vec::new();
    let mut small = Vec::new();
    let mut ungraded_pieces = Vec::new();
    for index in used_stock(frame) {
        let item = &stock[index];
        let Material::Class(class) = &item.material else { continue };
        if tables::timber::class(class).is_none() {
            continue;
        }
        if item.grading == Grading::Assumed {
            assumed.push(format!("{} {class}", item.name));
        }
        if ungraded::taken_as(item).is_some() {
            ungraded_pieces.push(item.name.clone());
        } else if item.grading != Grading::Measured && ungraded::is_piece(item) {
            small.push(item.name.clone());
        }
    }
    list.put_if_any(AssumptionCode::GradeAssumed, assumed);
    list.put_if_any(AssumptionCode::SmallPiece, small);
    list.put_if_any(AssumptionCode::UngradedPiece, ungraded_pieces);
}

fn people(frame: &Frame, list: &mut List) {
    let design = frame.design();
    let default = design.people.iter().any(|p| p.mass_kg.is_none());
    if default {
        list.put(AssumptionCode::PersonMass, Vec::new(), Some(design.settings.person_kg.unwrap_or(PERSON_KG)));
    }
    if !design.people.is_empty() {
        list.put(AssumptionCode::PeopleGiven, design.people.iter().map(|p| p.name.clone()).collect(), None);
    }
    let moving = design.people.iter().any(|p| p.posture != crate::design::Posture::Lying);
    if moving {
        list.put(AssumptionCode::ShortTerm, Vec::new(), None);
    }
}

fn holds(frame: &Frame, list: &mut List) {
    let joints = frame.joints.iter().filter(|j| j.idealised).map(|j| j.tag.clone()).collect();
    list.put_if_any(AssumptionCode::JointsIdeal, joints);
    let stiff = |grips: &[Grip; 6]| !grips.iter().any(|g| matches!(g, Grip::Spring(_)));
    let anchors = frame.anchors.iter().filter(|a| stiff(&a.grips)).map(|a| a.tag.clone()).collect();
    list.put_if_any(AssumptionCode::AnchorsIdeal, anchors);
}

fn columns(frame: &Frame, checks: &[Check], found: &Columns, list: &mut List) {
    let tag = |member: &usize| frame.design().members[*member].tag.clone();
    list.put_if_any(AssumptionCode::ColumnByFrame, found.by_frame.iter().map(tag).collect());
    let pressed: BTreeSet<&str> =
        checks.iter().filter(|c| c.kind == CheckKind::Column).map(|c| c.tag.as_str()).collect();
    let (mut little, mut held) = (Vec::new(), Vec::new());
    let members = frame.design().members.iter().enumerate();
    for (index, member) in members.filter(|(i, m)| pressed.contains(m.tag.as_str()) && !found.by_frame.contains(i)) {
        little.push(tag(&index));
        if member.held_depth_mm.is_some() || member.held_width_mm.is_some() {
            held.push(tag(&index));
        }
    }
    list.put_if_any(AssumptionCode::NotColumnCritical, little);
    list.put_if_any(AssumptionCode::ColumnHeld, held);
    list.put_if_any(AssumptionCode::SecondOrder, found.second_order.clone());
}

/// Members whose strength in bending is less for want of holds against tipping.
fn lateral(checks: &[Check], list: &mut List) {
    let reduced = |c: &&Check| c.factors.iter().any(|f| f.name == "k_crit" && f.value < 1.0);
    let tags = checks.iter().filter(|c| c.kind == CheckKind::LateralBuckling).filter(reduced);
    let tags: BTreeSet<&str> = tags.map(|c| c.tag.as_str()).collect();
    list.put_if_any(AssumptionCode::LateralHolds, tags.into_iter().map(str::to_owned).collect());
}

fn factors(frame: &Frame, list: &mut List) {
    let settings = &frame.design().settings;
    let class = settings.service_class.unwrap_or(SERVICE_CLASS);
    list.put(AssumptionCode::ServiceClass, Vec::new(), Some(f64::from(class)));
    let changed = [
        ("gamma_permanent", settings.gamma_permanent, 1.35),
        ("gamma_variable", settings.gamma_variable, 1.5),
        ("span_over_sag", settings.span_over_sag, 250.0),
    ];
    for (name, value, recommended) in changed {
        if let Some(value) = value.filter(|v| *v != recommended) {
            list.put(AssumptionCode::FactorChanged, vec![name.into()], Some(value));
        }
    }
}

fn mattresses(frame: &Frame, list: &mut List) {
    let taken = surface::mattress_taken(frame.design());
    if !taken.is_empty() {
        list.put(AssumptionCode::MattressThickness, taken, Some(surface::MATTRESS_MM));
    }
}

/// Classes whose figures were not all read in a source.
fn from_memory(frame: &Frame, list: &mut List) {
    let mut names: BTreeSet<String> = BTreeSet::new();
    for index in used_stock(frame) {
        if let Material::Class(class) = &frame.design().stock[index].material {
            let read = tables::metal::metal(class).is_some_and(|m| matches!(m.basis, tables::Basis::Read(_)));
            if !read {
                names.insert(class.clone());
            }
        }
    }
    for deck in &frame.design().decks {
        if let crate::design::DeckSurface::Sheet { material, .. } = &deck.surface {
            names.insert(material.clone());
        }
    }
    list.put_if_any(AssumptionCode::FromMemory, names.into_iter().collect());
}

/// Members with something that no rule here covers, by index.
#[derive(Clone, Debug, Default)]
pub struct Open {
    /// A joint or anchor whose contact is not known.
    pub bearing: BTreeSet<usize>,
    /// A notch that bending pulls open between supports, or a hole too large for the net section alone.
    pub cuts: BTreeSet<usize>,
}

/// What a careful engineer would still check, member by member.
pub fn not_checked(analysis: &Analysis<'_>, decks: Vec<NotChecked>, open: &Open) -> Vec<NotChecked> {
    let frame = analysis.frame;
    let design = frame.design();
    let unheld = holds::unheld(frame);
    let mut list = Vec::new();
    let mut put = |tag: &str, what: Unchecked| list.push(NotChecked { tag: tag.to_owned(), what });
    if analysis.system.order() == 0 || analysis.untold.contains(&true) {
        put("design", Unchecked::Stability);
    }
    put("design", Unchecked::Fit);
    for item in super::road::not_checked(frame) {
        put(&item.tag, item.what);
    }
    for (index, member) in design.members.iter().enumerate() {
        if analysis.untold[index] {
            put(&member.tag, Unchecked::NotComputed);
            continue;
        }
        let Some(resistance) = members::resistance(frame, index) else {
            if matches!(frame.members[index].material, FrameMaterial::Metal(_)) {
                let open = metal::not_checked(frame, index, &unheld[index]);
                open.into_iter().for_each(|what| put(&member.tag, what));
            } else {
                put(&member.tag, Unchecked::StrengthUnknown);
            }
            continue;
        };
        // Nothing holds its roll, so no length between holds can be said.
        if resistance.lateral.is_some() && unheld[index].is_empty() {
            put(&member.tag, Unchecked::LateralBuckling);
        }
        let open = [(Unchecked::Bearing, &open.bearing), (Unchecked::Notches, &open.cuts)];
        for (what, _) in open.into_iter().filter(|(_, members)| members.contains(&index)) {
            put(&member.tag, what);
        }
    }
    decks.iter().for_each(|d| put(&d.tag, d.what));
    for joint in &frame.joints {
        put(&joint.tag, Unchecked::JointFixings);
    }
    for anchor in &frame.anchors {
        put(&anchor.tag, Unchecked::AnchorFixings);
    }
    list
}
