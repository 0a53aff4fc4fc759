//! NoticeService.

use super::asked::{request_id, signed_in};
use super::status::to_status;
use super::views::instant;
use crate::app::notices::{NewNotice, NoticeState, NoticeView, RecordView, TakeUpEnd, TakeUpView, Wanted};
use crate::app::{App, AppError};
use crate::clock::SECOND;
use battenboard_proto::v1;
use battenboard_proto::v1::notice_service_server::NoticeService;
use prost_types::Timestamp;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Notices(pub Arc<App>);

/// Microseconds of an instant on the wire.
fn micros(field: &str, instant: Timestamp) -> Result<i64, Status> {
    let whole =
        instant.seconds.checked_mul(SECOND).and_then(|whole| whole.checked_add(i64::from(instant.nanos / 1000)));
    whole.ok_or_else(|| to_status(AppError::invalid(field, "this instant is too far away")))
}

fn take_up(view: TakeUpView) -> v1::TakeUp {
    let TakeUpView { account, taken_at, end, reason } = view;
    let ended = match end.map(|(how, _)| how) {
        None => v1::TakeUpEnd::Unspecified,
        Some(TakeUpEnd::HandedBack) => v1::TakeUpEnd::HandedBack,
        Some(TakeUpEnd::ByKeeper) => v1::TakeUpEnd::ByKeeper,
    };
    let end_time = end.and_then(|(_, at)| instant(at));
    v1::TakeUp { account, take_time: instant(taken_at), end: ended.into(), end_time, reason }
}

fn notice(view: NoticeView) -> v1::Notice {
    let letter = view.letter();
    let NoticeView { notice, names, skills, hung_by, state, mine, take_ups } = view;
    let (group, design) = names.unwrap_or_default();
    let state = match state {
        NoticeState::Hanging => v1::NoticeState::Hanging,
        NoticeState::RunOut => v1::NoticeState::RunOut,
        NoticeState::TakenDown => v1::NoticeState::TakenDown,
    };
    v1::Notice {
        id: notice.id.to_string(),
        code: notice.code,
        group,
        design,
        letter,
        worry: notice.worry,
        vehicle: notice.vehicle,
        frame_kind: notice.frame_kind,
        skills,
        hung_by,
        hang_time: instant(notice.hung_at),
        expire_time: instant(notice.ends_at),
        state: state.into(),
        most_takers: i32::try_from(notice.most_takers).unwrap_or(i32::MAX),
        taker_count: i32::try_from(notice.takers).unwrap_or(i32::MAX),
        mine,
        take_ups: take_ups.into_iter().map(take_up).collect(),
    }
}

fn record(view: RecordView) -> v1::ReviewerRecord {
    let RecordView { account, counts } = view;
    let count = |count: i64| i32::try_from(count).unwrap_or(i32::MAX);
    v1::ReviewerRecord {
        account,
        taken_up_count: count(counts.taken_up),
        concluded_count: count(counts.concluded),
        snag_count: count(counts.snags),
        snag_mended_count: count(counts.snags_mended),
    }
}

#[tonic::async_trait]
impl NoticeService for Notices {
    async fn hang_notice(
        &self,
        request: Request<v1::HangNoticeRequest>,
    ) -> Result<Response<v1::HangNoticeResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "HangNotice", id, &message);
        let v1::HangNoticeRequest { group, design, letter, worry, vehicle, frame_kind, skills, .. } = message;
        let missing = || to_status(AppError::invalid("expire_time", "say by which day an opinion is wanted"));
        let ends_at = micros("expire_time", message.expire_time.ok_or_else(missing)?)?;
        let most_takers = i64::from(message.most_takers);
        let new = NewNotice { group, design, letter, worry, vehicle, frame_kind, skills, ends_at, most_takers };
        let hung = self.0.hang_notice(&caller, new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::HangNoticeResponse { notice: Some(notice(hung)) }))
    }

    async fn get_notice(
        &self,
        request: Request<v1::GetNoticeRequest>,
    ) -> Result<Response<v1::GetNoticeResponse>, Status> {
        let (caller, _, v1::GetNoticeRequest { notice_id }) = signed_in(request)?;
        let found = self.0.get_notice(&caller, &notice_id).await.map_err(to_status)?;
        Ok(Response::new(v1::GetNoticeResponse { notice: Some(notice(found)) }))
    }

    async fn list_notices(
        &self,
        request: Request<v1::ListNoticesRequest>,
    ) -> Result<Response<v1::ListNoticesResponse>, Status> {
        let (caller, _, message) = signed_in(request)?;
        let v1::ListNoticesRequest { vehicle, frame_kind, skill, page_size, page_token, .. } = message;
        let hung_from = message.hung_from.map(|at| micros("hung_from", at)).transpose()?;
        let hung_before = message.hung_before.map(|at| micros("hung_before", at)).transpose()?;
        let wanted = Wanted { vehicle, frame_kind, skill, hung_from, hung_before };
        let (found, next_page_token) =
            self.0.list_notices(&caller, wanted, page_size, &page_token).await.map_err(to_status)?;
        let notices = found.into_iter().map(notice).collect();
        Ok(Response::new(v1::ListNoticesResponse { notices, next_page_token }))
    }

    async fn list_group_notices(
        &self,
        request: Request<v1::ListGroupNoticesRequest>,
    ) -> Result<Response<v1::ListGroupNoticesResponse>, Status> {
        let (caller, _, v1::ListGroupNoticesRequest { group, page_size, page_token }) = signed_in(request)?;
        let (found, next_page_token) =
            self.0.list_group_notices(&caller, &group, page_size, &page_token).await.map_err(to_status)?;
        let notices = found.into_iter().map(notice).collect();
        Ok(Response::new(v1::ListGroupNoticesResponse { notices, next_page_token }))
    }

    async fn take_down_notice(
        &self,
        request: Request<v1::TakeDownNoticeRequest>,
    ) -> Result<Response<v1::TakeDownNoticeResponse>, Status> {
        let (caller, _, v1::TakeDownNoticeRequest { notice_id }) = signed_in(request)?;
        let taken_down = self.0.take_down_notice(&caller, notice_id).await.map_err(to_status)?;
        Ok(Response::new(v1::TakeDownNoticeResponse { notice: Some(notice(taken_down)) }))
    }

    async fn take_up_notice(
        &self,
        request: Request<v1::TakeUpNoticeRequest>,
    ) -> Result<Response<v1::TakeUpNoticeResponse>, Status> {
        let (caller, _, v1::TakeUpNoticeRequest { notice_id }) = signed_in(request)?;
        let taken = self.0.take_up_notice(&caller, notice_id).await.map_err(to_status)?;
        Ok(Response::new(v1::TakeUpNoticeResponse { notice: Some(notice(taken)) }))
    }

    async fn hand_back_notice(
        &self,
        request: Request<v1::HandBackNoticeRequest>,
    ) -> Result<Response<v1::HandBackNoticeResponse>, Status> {
        let (caller, _, v1::HandBackNoticeRequest { notice_id }) = signed_in(request)?;
        let handed_back = self.0.hand_back_notice(&caller, notice_id).await.map_err(to_status)?;
        Ok(Response::new(v1::HandBackNoticeResponse { notice: handed_back.map(notice) }))
    }

    async fn end_take_up(
        &self,
        request: Request<v1::EndTakeUpRequest>,
    ) -> Result<Response<v1::EndTakeUpResponse>, Status> {
        let (caller, _, v1::EndTakeUpRequest { notice_id, account, reason }) = signed_in(request)?;
        let ended = self.0.end_take_up(&caller, notice_id, account, reason).await.map_err(to_status)?;
        Ok(Response::new(v1::EndTakeUpResponse { notice: Some(notice(ended)) }))
    }

    async fn get_reviewer_record(
        &self,
        request: Request<v1::GetReviewerRecordRequest>,
    ) -> Result<Response<v1::GetReviewerRecordResponse>, Status> {
        let (caller, _, v1::GetReviewerRecordRequest { account }) = signed_in(request)?;
        let found = self.0.get_reviewer_record(&caller, account).await.map_err(to_status)?;
        Ok(Response::new(v1::GetReviewerRecordResponse { record: Some(record(found)) }))
    }
}
