//! ReviewService.

use super::asked::{request_id, signed_in};
use super::remarks::place_kind_of;
use super::status::to_status;
use super::views::{instant, place_kind};
use crate::app::error::Fault;
use crate::app::letters::letter;
use crate::app::reviews::{
    ConclusionView, Disposition, ItemView, LookKind, LookView, MemberDisposition, NewConclusion, NewLook, OwnSumsView,
    ReviewView,
};
use crate::app::{App, AppError};
use battenboard_proto::v1;
use battenboard_proto::v1::review_service_server::ReviewService;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Reviews(pub Arc<App>);

fn look_kind_of(wire: i32) -> Result<LookKind, Fault> {
    match v1::LookKind::try_from(wire) {
        Ok(v1::LookKind::LookedAtOnly) => Ok(LookKind::LookedAtOnly),
        Ok(v1::LookKind::ServersSums) => Ok(LookKind::ServersSums),
        Ok(v1::LookKind::OwnSums) => Ok(LookKind::OwnSums),
        Ok(v1::LookKind::Unspecified) | Err(_) => {
            Err(Fault::of("kind", "say how: looked at only, the server's sums gone through, or own sums"))
        }
    }
}

fn look_kind(kind: LookKind) -> v1::LookKind {
    match kind {
        LookKind::LookedAtOnly => v1::LookKind::LookedAtOnly,
        LookKind::ServersSums => v1::LookKind::ServersSums,
        LookKind::OwnSums => v1::LookKind::OwnSums,
    }
}

fn disposition_of(wire: i32, field: &str) -> Result<Disposition, Fault> {
    match v1::Disposition::try_from(wire) {
        Ok(v1::Disposition::CutIt) => Ok(Disposition::CutIt),
        Ok(v1::Disposition::CutItWithChanges) => Ok(Disposition::CutItWithChanges),
        Ok(v1::Disposition::ChangeAndSendAgain) => Ok(Disposition::ChangeAndSendAgain),
        Ok(v1::Disposition::DoNotBuild) => Ok(Disposition::DoNotBuild),
        Ok(v1::Disposition::Unspecified) | Err(_) => {
            Err(Fault::of(field, "say which: cut it, with changes, change and send again, or don't build"))
        }
    }
}

fn disposition(disposition: Disposition) -> v1::Disposition {
    match disposition {
        Disposition::CutIt => v1::Disposition::CutIt,
        Disposition::CutItWithChanges => v1::Disposition::CutItWithChanges,
        Disposition::ChangeAndSendAgain => v1::Disposition::ChangeAndSendAgain,
        Disposition::DoNotBuild => v1::Disposition::DoNotBuild,
    }
}

fn refused(faults: Vec<Fault>) -> Status {
    to_status(AppError::Invalid { faults })
}

fn look(view: LookView) -> v1::Look {
    let LookView { account, kind, ordinal, created_at, own_utilisation, own_sag_mm, note, server_utilisation } = view;
    v1::Look {
        account,
        kind: look_kind(kind).into(),
        letter: letter(ordinal),
        create_time: instant(created_at),
        own_utilisation,
        own_sag_mm,
        note,
        server_utilisation,
    }
}

fn item(view: ItemView) -> v1::ItemLooks {
    let ItemView { kind, tag, looks, looked_before } = view;
    v1::ItemLooks {
        place: Some(v1::Place { kind: place_kind(kind).into(), tag, at_mm: None }),
        looks: looks.into_iter().map(look).collect(),
        looked_before_letter: looked_before.map(letter).unwrap_or_default(),
    }
}

fn conclusion(view: ConclusionView) -> v1::Conclusion {
    let ConclusionView { account, ordinal, created_at, disposition: whole, note, members, from_outside, superseded } =
        view;
    let member = |member: MemberDisposition| v1::MemberDisposition {
        tag: member.tag,
        disposition: disposition(member.disposition).into(),
        note: member.note,
    };
    v1::Conclusion {
        account,
        letter: letter(ordinal),
        create_time: instant(created_at),
        disposition: disposition(whole).into(),
        note,
        members: members.into_iter().map(member).collect(),
        from_outside,
        superseded,
    }
}

fn own_sums(view: OwnSumsView) -> v1::OwnSums {
    let OwnSumsView { account, begun_at, ended_at, figures_in, reason } = view;
    v1::OwnSums { account, begin_time: instant(begun_at), end_time: ended_at.and_then(instant), figures_in, reason }
}

fn review(view: ReviewView) -> v1::Review {
    let count = |count: i64| i32::try_from(count).unwrap_or(i32::MAX);
    v1::Review {
        letter: letter(view.ordinal),
        conclusions: view.conclusions.into_iter().map(conclusion).collect(),
        looked_at: view.looked_at.into_iter().map(item).collect(),
        nobody: view.nobody.into_iter().map(item).collect(),
        own_sums: view.own_sums.into_iter().map(own_sums).collect(),
        open_snag_count: count(view.open_snags),
        open_other_count: count(view.open_others),
        figures_withheld: view.withheld,
    }
}

#[tonic::async_trait]
impl ReviewService for Reviews {
    async fn mark_looked_at(
        &self,
        request: Request<v1::MarkLookedAtRequest>,
    ) -> Result<Response<v1::MarkLookedAtResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "MarkLookedAt", id, &message);
        let v1::MarkLookedAtRequest { group, design, letter, places, own_utilisation, own_sag_mm, note, .. } = message;
        let kind = look_kind_of(message.kind).map_err(|fault| refused(vec![fault]))?;
        let places = places.into_iter().map(|place| Ok((place_kind_of(place.kind)?, place.tag)));
        let places = places.collect::<Result<_, Fault>>().map_err(|fault| refused(vec![fault]))?;
        let new = NewLook { group, design, letter, places, kind, own_utilisation, own_sag_mm, note };
        let stands = self.0.mark_looked_at(&caller, new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::MarkLookedAtResponse { review: Some(review(stands)) }))
    }

    async fn conclude_review(
        &self,
        request: Request<v1::ConcludeReviewRequest>,
    ) -> Result<Response<v1::ConcludeReviewResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "ConcludeReview", id, &message);
        let v1::ConcludeReviewRequest { group, design, letter, note, members, .. } = message;
        let disposition = disposition_of(message.disposition, "disposition").map_err(|fault| refused(vec![fault]))?;
        let member = |(at, member): (usize, v1::MemberDisposition)| {
            let disposition = disposition_of(member.disposition, &format!("members[{at}].disposition"))?;
            Ok(MemberDisposition { tag: member.tag, disposition, note: member.note })
        };
        let members = members.into_iter().enumerate().map(member);
        let members = members.collect::<Result<_, Fault>>().map_err(|fault| refused(vec![fault]))?;
        let new = NewConclusion { group, design, letter, disposition, note, members };
        let stands = self.0.conclude_review(&caller, new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::ConcludeReviewResponse { review: Some(review(stands)) }))
    }

    async fn get_review(
        &self,
        request: Request<v1::GetReviewRequest>,
    ) -> Result<Response<v1::GetReviewResponse>, Status> {
        let (caller, _, v1::GetReviewRequest { group, design, letter }) = signed_in(request)?;
        let stands = self.0.get_review(&caller, &group, &design, &letter).await.map_err(to_status)?;
        Ok(Response::new(v1::GetReviewResponse { review: Some(review(stands)) }))
    }

    async fn begin_own_sums(
        &self,
        request: Request<v1::BeginOwnSumsRequest>,
    ) -> Result<Response<v1::BeginOwnSumsResponse>, Status> {
        let (caller, _, v1::BeginOwnSumsRequest { group, design }) = signed_in(request)?;
        let begun = self.0.begin_own_sums(&caller, group, design).await.map_err(to_status)?;
        Ok(Response::new(v1::BeginOwnSumsResponse { own_sums: Some(own_sums(begun)) }))
    }

    async fn end_own_sums(
        &self,
        request: Request<v1::EndOwnSumsRequest>,
    ) -> Result<Response<v1::EndOwnSumsResponse>, Status> {
        let (caller, _, v1::EndOwnSumsRequest { group, design, reason }) = signed_in(request)?;
        let ended = self.0.end_own_sums(&caller, group, design, reason).await.map_err(to_status)?;
        Ok(Response::new(v1::EndOwnSumsResponse { own_sums: Some(own_sums(ended)) }))
    }
}
