//! Placing a remark on an item of a revision.

use super::carry::{Rows, Traveller};
use super::{Reference, RemarkKind, RemarkState, RemarkView, Spot};
use crate::app::designs::find;
use crate::app::error::Fault;
use crate::app::names::{nearest, text_faults};
use crate::app::requests::{RequestId, is_repeat};
use crate::app::tags::{PlaceKind, member_length_mm, tags};
use crate::app::{App, AppError, AppResult, REMARK_BYTES, content, proofs};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::{designs, events, remarks};
use battenboard_engine::design::carry::Origin;
use battenboard_engine::design::{Design, Violation};
use battenboard_engine::proof::ProofLoad;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// Longest tag that is looked for, bytes: two tags of 24 with a stroke, and some.
pub(super) const TAG_BYTES: usize = 100;

/// A remark wanted.
#[derive(Clone, Debug)]
pub struct NewRemark {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision; empty: the latest.
    pub letter: String,
    /// Where.
    pub spot: Spot,
    /// What it is.
    pub kind: RemarkKind,
    /// What it says.
    pub text: String,
    /// The proof load it carries.
    pub proof_load: Option<ProofLoad>,
}

#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

impl App {
    /// Places a remark.
    ///
    /// # Errors
    /// An empty or too long text; a tag that the revision does not have; a place beyond the member's end.
    pub async fn create_remark(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewRemark,
        request: RequestId,
    ) -> AppResult<RemarkView> {
        let mut faults = text_faults("text", &new.text, REMARK_BYTES, true);
        faults.extend(new.proof_load.iter().flat_map(load_faults));
        faults.extend(text_faults("place.tag", &new.spot.tag, TAG_BYTES, false));
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let carries = new.proof_load.is_some();
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_remark(&by, new, &request).await };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        let reference = Reference::Id(id.to_string());
        if carries {
            self.tell_checks_changed();
            let ordinal = self.get_remark(caller, &reference).await?.ordinal;
            self.wait_for_proof(id, ordinal).await?;
        }
        self.get_remark(caller, &reference).await
    }

    async fn write_remark(&self, caller: &Caller, new: NewRemark, request: &RequestId) -> AppResult<Uuid> {
        // What never changes is read before the transaction: reading a body takes its time.
        let conn = self.store.read();
        let place = find(conn, caller, &new.group, &new.design).await?;
        let ordinal = place.ordinal(&new.letter)?;
        let revision = place.revision(conn, ordinal).await?;
        let design = content::read(revision.body_format, &revision.body)?;
        refuse_no_such_place(&design, &new.spot)?;
        let Spot { kind, tag, at_mm } = &new.spot;
        let origin = Origin::of(&design, kind.on(), tag, *at_mm)
            .ok_or_else(|| AppError::internal("a remark on what its revision does not have"))?;
        let id = new_id();
        // On an older revision it goes on to the latest at once, as far as it can before the transaction.
        let mut travellers = [Traveller::new(id, place.design.id, ordinal, origin)];
        let mut rows = Rows::begun(&travellers[0]);
        self.travel(conn, &mut travellers, place.design.latest_ordinal, &mut rows).await?;
        if let Some(load) = &new.proof_load {
            proofs::refuse_no_such_point(design, load).await?;
            proofs::refuse_too_many(self, caller.account_id).await?;
        }

        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if let Some(Kept { id }) = request.find(&tx).await? {
            return Ok(id);
        }
        let place = find(&tx, caller, &new.group, &new.design).await?;
        // Under this lock no submit goes on: one that came before is travelled to here, one that comes after finds this.
        let gone = || AppError::not_found("design", "");
        let design = designs::by_id_for_update(&tx, place.design.id).await?.ok_or_else(gone)?;
        self.travel(&tx, &mut travellers, design.latest_ordinal, &mut rows).await?;
        let number = designs::take_remark_number(&tx, place.design.id).await?;
        let remark = remarks::Remark {
            id,
            design_id: place.design.id,
            number,
            revision_id: revision.id,
            ordinal,
            place_kind: new.spot.kind.word().to_owned(),
            place_tag: new.spot.tag,
            at_mm: new.spot.at_mm,
            kind: new.kind.word().to_owned(),
            state: RemarkState::Open.word().to_owned(),
            text: new.text,
            author_id: caller.account_id,
            entries: 0,
            created_at: now,
            take_up_id: place.access.take_up_id(),
        };
        remarks::insert(&tx, remark.clone()).await?;
        rows.numbered(number).write(&tx).await?;
        if let Some(load) = &new.proof_load {
            proofs::made(&tx, &remark, load, now).await?;
        }
        request.keep(&tx, &Kept { id }).await?;
        let news = events::News {
            kind: "remark",
            actor_id: Some(caller.account_id),
            design_id: Some(place.design.id),
            ordinal: Some(ordinal),
            subject_id: Some(id),
        };
        events::append(&tx, place.group.id, news, now).await?;
        self.store.commit(tx).await?;
        Ok(id)
    }
}

/// Faults of a proof load, at their fields of the request.
fn load_faults(load: &ProofLoad) -> Vec<Fault> {
    let of_request = |mut fault: Violation| {
        fault.path = match fault.path.as_str() {
            "place" => "place.at_mm".to_owned(),
            "patch" => "proof_load.patch_x_mm".to_owned(),
            path => format!("proof_load.{path}"),
        };
        Fault::from(fault)
    };
    load.faults().into_iter().map(of_request).collect()
}

/// A remark stands on something that is there.
fn refuse_no_such_place(design: &Design, spot: &Spot) -> AppResult<()> {
    let fault = if spot.kind == PlaceKind::Whole {
        (!spot.tag.is_empty()).then(|| Fault::of("place.tag", "a remark on the whole design has no tag"))
    } else {
        missing_tag(design, spot)
    };
    match fault.or_else(|| beyond_end(design, spot)) {
        Some(fault) => Err(AppError::Invalid { faults: vec![fault] }),
        None => Ok(()),
    }
}

fn missing_tag(design: &Design, spot: &Spot) -> Option<Fault> {
    let known = tags(design, spot.kind);
    if known.contains(&spot.tag) {
        return None;
    }
    let what = spot.kind.word();
    let fault = Fault::of("place.tag", format!("this revision has no {what} `{}`", spot.tag));
    let near = nearest(&spot.tag, known.iter().map(String::as_str));
    Some(match near {
        Some(near) => fault.mend(format!("did you mean `{near}`?")),
        None => fault,
    })
}

fn beyond_end(design: &Design, spot: &Spot) -> Option<Fault> {
    let at_mm = spot.at_mm?;
    if spot.kind != PlaceKind::Member {
        return Some(Fault::of("place.at_mm", "only a place on a member has a distance from its start"));
    }
    let length_mm = member_length_mm(design, &spot.tag)?;
    // A millimetre of grace: lengths are rounded on their way through screens.
    let within = at_mm.is_finite() && (0.0..=length_mm + 1e-3).contains(&at_mm);
    (!within).then(|| {
        let message = format!("{at_mm} mm is not on `{}`: it is {length_mm:.0} mm long", spot.tag);
        Fault::of("place.at_mm", message)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use battenboard_engine::design::{Joint, Member};

    fn design() -> Design {
        let member = |tag: &str| Member { tag: tag.into(), to: [300.0, 400.0, 0.0], ..Member::default() };
        let joint = Joint { member: "B3".into(), on: "RL".into(), ..Joint::default() };
        Design { members: vec![member("RL"), member("B3")], joints: vec![joint], ..Design::default() }
    }

    fn fault(kind: PlaceKind, tag: &str, at_mm: Option<f64>) -> Option<String> {
        match refuse_no_such_place(&design(), &Spot { kind, tag: tag.into(), at_mm }) {
            Err(AppError::Invalid { faults }) => faults.first().map(|fault| fault.violation.to_string()),
            _ => None,
        }
    }

    #[test]
    fn a_remark_stands_on_what_is_there() {
        assert_eq!(fault(PlaceKind::Member, "B3", Some(500.0)), None);
        assert_eq!(fault(PlaceKind::Joint, "RL/B3", None), None);
        assert_eq!(fault(PlaceKind::Whole, "", None), None);
    }

    #[test]
    fn a_tag_that_is_not_there_gets_the_nearest() {
        let said = fault(PlaceKind::Member, "B4", None);
        assert_eq!(said.as_deref(), Some("place.tag: this revision has no member `B4` (did you mean `B3`?)"));
        assert!(fault(PlaceKind::Joint, "B3", None).is_some());
        assert!(fault(PlaceKind::Whole, "B3", None).is_some());
    }

    #[test]
    fn a_place_beyond_the_end_is_refused() {
        for at_mm in [-1.0, 502.0, f64::NAN, f64::INFINITY] {
            assert!(fault(PlaceKind::Member, "B3", Some(at_mm)).is_some(), "{at_mm}");
        }
        assert!(fault(PlaceKind::Joint, "RL/B3", Some(1.0)).is_some());
    }
}
