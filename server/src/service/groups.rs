//! GroupService.

use super::asked::{request_id, signed_in};
use super::status::to_status;
use super::views;
use crate::app::{App, AppError};
use crate::auth::Right;
use battenboard_proto::v1;
use battenboard_proto::v1::group_service_server::GroupService;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Groups(pub Arc<App>);

fn right_of(wire: i32) -> Result<Right, Status> {
    match v1::Right::try_from(wire) {
        Ok(v1::Right::Onlooker) => Ok(Right::Onlooker),
        Ok(v1::Right::Reviewer) => Ok(Right::Reviewer),
        Ok(v1::Right::Builder) => Ok(Right::Builder),
        Ok(v1::Right::Keeper) => Ok(Right::Keeper),
        Ok(v1::Right::Unspecified) | Err(_) => {
            Err(to_status(AppError::invalid("right", "say which: onlooker, reviewer, builder or keeper")))
        }
    }
}

#[tonic::async_trait]
impl GroupService for Groups {
    async fn create_group(
        &self,
        request: Request<v1::CreateGroupRequest>,
    ) -> Result<Response<v1::CreateGroupResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "CreateGroup", id, &message);
        let v1::CreateGroupRequest { name, title, request_id: _ } = message;
        let group = self.0.create_group(&caller, name, title, request).await.map_err(to_status)?;
        Ok(Response::new(v1::CreateGroupResponse { group: Some(views::group(group)) }))
    }

    async fn get_group(&self, request: Request<v1::GetGroupRequest>) -> Result<Response<v1::GetGroupResponse>, Status> {
        let (caller, _, v1::GetGroupRequest { group }) = signed_in(request)?;
        let group = self.0.get_group(&caller, &group).await.map_err(to_status)?;
        Ok(Response::new(v1::GetGroupResponse { group: Some(views::group(group)) }))
    }

    async fn list_groups(
        &self,
        request: Request<v1::ListGroupsRequest>,
    ) -> Result<Response<v1::ListGroupsResponse>, Status> {
        let (caller, _, v1::ListGroupsRequest { page_size, page_token }) = signed_in(request)?;
        let (groups, next_page_token) = self.0.list_groups(&caller, page_size, &page_token).await.map_err(to_status)?;
        let groups = groups.into_iter().map(views::group).collect();
        Ok(Response::new(v1::ListGroupsResponse { groups, next_page_token }))
    }

    async fn create_invitation(
        &self,
        request: Request<v1::CreateInvitationRequest>,
    ) -> Result<Response<v1::CreateInvitationResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "CreateInvitation", id, &message);
        let v1::CreateInvitationRequest { group, right, request_id: _ } = message;
        let made = self.0.create_invitation(&caller, group, right_of(right)?, request).await.map_err(to_status)?;
        Ok(Response::new(v1::CreateInvitationResponse {
            code: made.code,
            right: views::right(made.right).into(),
            expire_time: views::instant(made.ends_at),
        }))
    }

    async fn accept_invitation(
        &self,
        request: Request<v1::AcceptInvitationRequest>,
    ) -> Result<Response<v1::AcceptInvitationResponse>, Status> {
        let (caller, visitor, v1::AcceptInvitationRequest { code }) = signed_in(request)?;
        let group = self.0.accept_invitation(&caller, code, visitor.address).await.map_err(to_status)?;
        Ok(Response::new(v1::AcceptInvitationResponse { group: Some(views::group(group)) }))
    }

    async fn list_crew(&self, request: Request<v1::ListCrewRequest>) -> Result<Response<v1::ListCrewResponse>, Status> {
        let (caller, _, v1::ListCrewRequest { group, page_size, page_token }) = signed_in(request)?;
        let (crew, next_page_token) =
            self.0.list_crew(&caller, &group, page_size, &page_token).await.map_err(to_status)?;
        let crew = crew.into_iter().map(views::crew).collect();
        Ok(Response::new(v1::ListCrewResponse { crew, next_page_token }))
    }

    async fn update_crew_right(
        &self,
        request: Request<v1::UpdateCrewRightRequest>,
    ) -> Result<Response<v1::UpdateCrewRightResponse>, Status> {
        let (caller, _, v1::UpdateCrewRightRequest { group, account, right }) = signed_in(request)?;
        let entry = self.0.update_crew_right(&caller, group, account, right_of(right)?).await.map_err(to_status)?;
        Ok(Response::new(v1::UpdateCrewRightResponse { crew_entry: Some(views::crew(entry)) }))
    }

    async fn remove_crew(
        &self,
        request: Request<v1::RemoveCrewRequest>,
    ) -> Result<Response<v1::RemoveCrewResponse>, Status> {
        let (caller, _, v1::RemoveCrewRequest { group, account }) = signed_in(request)?;
        self.0.remove_crew(&caller, group, account).await.map_err(to_status)?;
        Ok(Response::new(v1::RemoveCrewResponse {}))
    }
}
