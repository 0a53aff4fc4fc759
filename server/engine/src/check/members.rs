//! Every member through every combination to its checks.

use super::holds;
use super::stability::Study;
use super::states::{self, MemberStates};
use crate::check::CheckError;
use crate::design::Frame;
use crate::design::frame::{FrameMaterial, FrameMember};
use crate::findings::{Check, LimitState};
use crate::rules::combine::Combined;
use crate::rules::judge::{SagLimits, State, Subject, Unheld, judge};
use crate::rules::metal::{Lengths, MetalResistance, lateral};
use crate::rules::strength::{Resistance, strip};
use crate::statics::Analysis;
use crate::statics::line::Piece;
use crate::tables::factors::Product;
use crate::tables::metal;

/// Service class where the design says nothing: an unheated, breathing vehicle.
pub const SERVICE_CLASS: u8 = 2;

/// Checks of all members that could be computed.
///
/// # Errors
/// [`CheckError::Stopped`].
pub fn checks(
    analysis: &Analysis<'_>,
    combined: &[Combined],
    study: &Study,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<Check>, CheckError> {
    let mut checks = Vec::new();
    let supports = states::supports(analysis.frame);
    let unheld = holds::unheld(analysis.frame);
    // One buffer a combination, used again for every member.
    let mut buffers: Vec<Vec<Piece>> = combined.iter().map(|_| Vec::new()).collect();
    for member in (0..analysis.frame.members.len()).filter(|m| !analysis.untold[*m]) {
        if member.is_multiple_of(64) && stop() {
            return Err(CheckError::Stopped);
        }
        let leaning = pieces(analysis, combined, study, member, &mut buffers);
        let judged = Judged { combined, buffers: &buffers, study, leaning: &leaning };
        checks.extend(member_checks(analysis.frame, member, (&supports[member], &unheld[member]), &judged));
    }
    Ok(checks)
}

/// A member's pieces in every combination into `buffers`; those of each second order are given back.
fn pieces(
    analysis: &Analysis<'_>,
    combined: &[Combined],
    study: &Study,
    member: usize,
    buffers: &mut [Vec<Piece>],
) -> Vec<Vec<Piece>> {
    let all = MemberStates::recover(analysis, member);
    for (combination, state) in combined.iter().zip(buffers) {
        all.combine_pieces(&combination.terms, combination.limit_state, state);
    }
    let second = |mesh| study.second_order.iter().map(move |s| s.leaning.pieces(analysis.frame, mesh, member));
    study.divided.iter().flat_map(second).collect()
}

/// One member in all states it is judged in, for checks beside its own.
pub(super) fn with_states<T>(
    analysis: &Analysis<'_>,
    combined: &[Combined],
    study: &Study,
    member: usize,
    judge: impl FnOnce(&[State<'_>]) -> T,
) -> T {
    let mut buffers: Vec<Vec<Piece>> = combined.iter().map(|_| Vec::new()).collect();
    let leaning = pieces(analysis, combined, study, member, &mut buffers);
    let judged = Judged { combined, buffers: &buffers, study, leaning: &leaning };
    let service_class = analysis.frame.design().settings.service_class.unwrap_or(SERVICE_CLASS);
    judge(&judged.states(member, product(&analysis.frame.members[member]), service_class))
}

/// A member's pieces in all states it is judged in.
struct Judged<'a> {
    combined: &'a [Combined],
    /// One a combination, first order.
    buffers: &'a [Vec<Piece>],
    study: &'a Study,
    /// One a combination by second order and the way it leans.
    leaning: &'a [Vec<Piece>],
}

impl Judged<'_> {
    /// The states: a combination by second order stands in for itself, with no buckling length left.
    fn states(&self, member: usize, product: Product, service_class: u8) -> Vec<State<'_>> {
        let k_mod = |combination: &Combined| match combination.limit_state {
            LimitState::Strength => combination.k_mod(product, service_class),
            LimitState::SagInstant | LimitState::SagFinal => 1.0,
        };
        let first = self.combined.iter().zip(self.buffers).enumerate();
        let first = first.filter(|(index, _)| !self.study.is_second_order(*index));
        let first = first.map(|(index, (combination, pieces))| State {
            combination: &combination.name,
            limit_state: combination.limit_state,
            k_mod: k_mod(combination),
            buckling_mm: self.study.buckling_mm(index, member),
            pieces,
        });
        let second = self.study.second_order.iter().zip(self.leaning);
        let second = second.map(|(second, pieces)| State {
            combination: &second.name,
            limit_state: LimitState::Strength,
            k_mod: k_mod(&self.combined[second.combination]),
            buckling_mm: Some([0.0; 2]),
            pieces,
        });
        first.chain(second).collect()
    }
}

fn member_checks(
    frame: &Frame,
    member: usize,
    (supports_mm, unheld): (&[f64], &[Unheld]),
    judged: &Judged<'_>,
) -> Vec<Check> {
    let stated = &frame.design().members[member];
    let placed = &frame.members[member];
    let service_class = frame.design().settings.service_class.unwrap_or(SERVICE_CLASS);
    let states = judged.states(member, product(placed), service_class);
    let subject = Subject {
        tag: &stated.tag,
        kind: &stated.kind,
        from: placed.from,
        along: placed.axes[0],
        length_mm: placed.length_mm,
        resistance: resistance(frame, member),
        metal: metal(frame, member, unheld),
        shear_stiffness_n: [placed.section.shear_area_y_mm2, placed.section.shear_area_z_mm2]
            .map(|area| area.map(|a| a * placed.g_n_mm2)),
        supports_mm,
        unheld,
        limits: SagLimits::new(&stated.kind, frame.design().settings.span_over_sag),
        sag_limit_mm: stated.sag_limit_mm,
    };
    judge(&subject, &states)
}

fn product(placed: &FrameMember) -> Product {
    match placed.material {
        FrameMaterial::Timber(class) => class.family.into(),
        FrameMaterial::Panel(_) => Product::Plywood,
        FrameMaterial::Metal(_) | FrameMaterial::Given => Product::Solid,
    }
}

/// Resistance of a member; `None`: its strength is not known, or it is of metal.
pub(crate) fn resistance(frame: &Frame, member: usize) -> Option<Resistance> {
    let (stated, placed) = (&frame.design().members[member], &frame.members[member]);
    let section = &frame.design().stock[placed.stock].section;
    let depth = stated.held_depth_mm.unwrap_or(placed.length_mm);
    let width = stated.held_width_mm.unwrap_or(placed.length_mm);
    let resistance = match placed.material {
        FrameMaterial::Timber(class) => Resistance::new(section, class, depth, width),
        FrameMaterial::Panel(panel) => strip::resistance(section, panel, depth, width)?,
        FrameMaterial::Metal(_) | FrameMaterial::Given => return None,
    };
    Some(resistance).filter(Resistance::complete)
}

/// Resistance of a metal member; `None` where it is of something else or can't be judged. `unheld`: the stretches over
/// which it may tip over.
pub(super) fn metal(frame: &Frame, member: usize, unheld: &[Unheld]) -> Option<MetalResistance> {
    let placed = &frame.members[member];
    let FrameMaterial::Metal(name) = placed.material else { return None };
    let stated = &frame.design().members[member];
    let held_mm = [stated.held_depth_mm, stated.held_width_mm].map(|held| held.unwrap_or(placed.length_mm));
    // Held sideways by the builder's word is held upright too; in the plane of the softer axis.
    let soft = if placed.section.iy_mm4 >= placed.section.iz_mm4 { stated.held_width_mm } else { stated.held_depth_mm };
    let upright = lateral::length_mm(placed.length_mm, unheld);
    let lengths = Lengths { held_mm, upright_mm: soft.map_or(upright, |held| held.min(upright)) };
    let section = &frame.design().stock[placed.stock].section;
    MetalResistance::new(section, &placed.section, metal::metal(name)?, &lengths)
}
