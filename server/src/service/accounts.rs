//! AccountService.

use super::asked::{anyone, request_id, signed_in};
use super::status::to_status;
use super::views;
use crate::app::App;
use crate::app::accounts::{Entitlement, NewAccount, Recovery};
use battenboard_proto::v1::account_service_server::AccountService;
use battenboard_proto::v1::create_account_request::Entitlement as Wire;
use battenboard_proto::v1::{self};
use std::sync::Arc;
use tonic::{Request, Response, Status};
use uuid::Uuid;

/// See the file's head.
pub struct Accounts(pub Arc<App>);

#[tonic::async_trait]
impl AccountService for Accounts {
    async fn create_account(
        &self,
        request: Request<v1::CreateAccountRequest>,
    ) -> Result<Response<v1::CreateAccountResponse>, Status> {
        let (visitor, mut message) = anyone(request);
        // The password is no part of the digest: a hash as quick as that one must not be kept of it.
        let password = std::mem::take(&mut message.password);
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(Uuid::nil(), "CreateAccount", id, &message);
        let entitlement = match message.entitlement {
            None => Entitlement::None,
            Some(Wire::InvitationCode(code)) => Entitlement::Invitation(code),
            Some(Wire::FirstAccountCode(code)) => Entitlement::FirstAccount(code),
        };
        let (program, address) = (visitor.program, visitor.address);
        let new = NewAccount { name: message.name, password, entitlement, program, address };
        let made = self.0.create_account(new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::CreateAccountResponse {
            account: Some(v1::Account { name: made.name, create_time: views::instant(made.created_at) }),
            tokens: Some(views::tokens(made.tokens)),
            group: made.group,
            recovery_codes: made.recovery_codes,
        }))
    }

    async fn sign_in(&self, request: Request<v1::SignInRequest>) -> Result<Response<v1::SignInResponse>, Status> {
        let (visitor, v1::SignInRequest { name, password }) = anyone(request);
        let signed = self.0.sign_in(name, password, visitor.program, visitor.address).await.map_err(to_status)?;
        Ok(Response::new(v1::SignInResponse { tokens: Some(views::tokens(signed)) }))
    }

    async fn refresh_session(
        &self,
        request: Request<v1::RefreshSessionRequest>,
    ) -> Result<Response<v1::RefreshSessionResponse>, Status> {
        let (_, v1::RefreshSessionRequest { refresh_token }) = anyone(request);
        let fresh = self.0.refresh_session(refresh_token).await.map_err(to_status)?;
        Ok(Response::new(v1::RefreshSessionResponse { tokens: Some(views::tokens(fresh)) }))
    }

    async fn sign_out(&self, request: Request<v1::SignOutRequest>) -> Result<Response<v1::SignOutResponse>, Status> {
        let (caller, _, v1::SignOutRequest {}) = signed_in(request)?;
        self.0.sign_out(&caller).await.map_err(to_status)?;
        Ok(Response::new(v1::SignOutResponse {}))
    }

    async fn get_account(
        &self,
        request: Request<v1::GetAccountRequest>,
    ) -> Result<Response<v1::GetAccountResponse>, Status> {
        let (caller, _, v1::GetAccountRequest {}) = signed_in(request)?;
        let made_at = self.0.account_made_at(caller.account_id).await.map_err(to_status)?;
        let account = v1::Account { name: caller.account, create_time: views::instant(made_at) };
        let left = self.0.recovery_codes_left(caller.account_id).await.map_err(to_status)?;
        let recovery_codes_count = i32::try_from(left).unwrap_or(i32::MAX);
        Ok(Response::new(v1::GetAccountResponse { account: Some(account), recovery_codes_count }))
    }

    async fn list_sessions(
        &self,
        request: Request<v1::ListSessionsRequest>,
    ) -> Result<Response<v1::ListSessionsResponse>, Status> {
        let (caller, _, v1::ListSessionsRequest { page_size, page_token }) = signed_in(request)?;
        let page = self.0.list_sessions(&caller, page_size, &page_token).await.map_err(to_status)?;
        let sessions = page.sessions.into_iter().map(|session| views::session(session, caller.session_id)).collect();
        Ok(Response::new(v1::ListSessionsResponse { sessions, next_page_token: page.next }))
    }

    async fn end_session(
        &self,
        request: Request<v1::EndSessionRequest>,
    ) -> Result<Response<v1::EndSessionResponse>, Status> {
        let (caller, _, v1::EndSessionRequest { session_id }) = signed_in(request)?;
        self.0.end_session(&caller, &session_id).await.map_err(to_status)?;
        Ok(Response::new(v1::EndSessionResponse {}))
    }

    async fn change_password(
        &self,
        request: Request<v1::ChangePasswordRequest>,
    ) -> Result<Response<v1::ChangePasswordResponse>, Status> {
        let (caller, visitor, v1::ChangePasswordRequest { old_password, new_password }) = signed_in(request)?;
        let changed =
            self.0.change_password(&caller, old_password, new_password, visitor.program, visitor.address).await;
        let tokens = Some(views::tokens(changed.map_err(to_status)?));
        Ok(Response::new(v1::ChangePasswordResponse { tokens }))
    }

    async fn renew_recovery_codes(
        &self,
        request: Request<v1::RenewRecoveryCodesRequest>,
    ) -> Result<Response<v1::RenewRecoveryCodesResponse>, Status> {
        let (caller, visitor, v1::RenewRecoveryCodesRequest { password }) = signed_in(request)?;
        let fresh = self.0.renew_recovery_codes(&caller, password, visitor.address).await;
        let recovery_codes = fresh.map_err(to_status)?;
        Ok(Response::new(v1::RenewRecoveryCodesResponse { recovery_codes }))
    }

    async fn recover_account(
        &self,
        request: Request<v1::RecoverAccountRequest>,
    ) -> Result<Response<v1::RecoverAccountResponse>, Status> {
        let (visitor, v1::RecoverAccountRequest { name, code, new_password }) = anyone(request);
        let asked = Recovery { name, code, new_password, program: visitor.program, address: visitor.address };
        let (tokens, left) = self.0.recover_account(asked).await.map_err(to_status)?;
        let recovery_codes_count = i32::try_from(left).unwrap_or(i32::MAX);
        Ok(Response::new(v1::RecoverAccountResponse { tokens: Some(views::tokens(tokens)), recovery_codes_count }))
    }
}
