//! How each method is called, so that nothing but the caller's right can be in the way.
#![allow(clippy::needless_update, reason = "a request of few fields is written like one of many")]

use super::Who;
use super::world::{ELSEWHERE, World, notice_wanted, remark_wanted, text};
use battenboard_proto::v1;
use battenboard_tests::harness::{Actor, GROUP};
use prost::Message;
use std::collections::BTreeSet;
use tonic::{Response, Status};

/// Every method of the contract, as `Service/Method`.
pub fn methods_of_the_descriptor() -> BTreeSet<String> {
    let set = prost_types::FileDescriptorSet::decode(battenboard_proto::FILE_DESCRIPTOR_SET).unwrap();
    let services = set.file.iter().filter(|file| file.package() == "battenboard.v1").flat_map(|file| &file.service);
    let named =
        services.flat_map(|service| service.method.iter().map(|it| format!("{}/{}", service.name(), it.name())));
    named.collect()
}

fn done<T>(answer: Result<Response<T>, Status>) -> Result<(), Status> {
    answer.map(|_| ())
}

async fn begun<T>(answer: Result<Response<tonic::Streaming<T>>, Status>) -> Result<(), Status> {
    answer?.into_inner().message().await.map(|_| ())
}

macro_rules! request {
    ($of:ident { $($field:ident: $value:expr),* $(,)? }) => {{
        // Field by field: of some messages this is all, of others not.
        let mut request = v1::$of::default();
        $(request.$field = $value.into();)*
        request
    }};
}

impl World {
    /// Calls the method of a row as somebody, about one of the designs.
    pub async fn ask(&mut self, row: &str, who: Who, design: &str) -> Result<(), Status> {
        let (service, method) = row.split_once('/').unwrap();
        match service {
            "AccountService" => self.ask_accounts(method, who).await,
            "GroupService" => self.ask_groups(method, who).await,
            "DesignService" => self.ask_designs(method, who, design).await,
            "FindingService" => self.ask_findings(method, who, design).await,
            "RemarkService" => self.ask_remarks(method, who, design).await,
            "ProofService" => self.ask_proofs(who, design).await,
            "ReviewService" => self.ask_reviews(method, who, design).await,
            "CuttingService" => self.ask_cutting(method, who, design).await,
            "NoticeService" => self.ask_notices(method, who, design).await,
            "VehicleService" => self.ask_vehicles(method, who).await,
            "NewsService" => self.ask_news(method, who).await,
            _ => done(self.actor(who).server_info().get_server_info(v1::GetServerInfoRequest {}).await),
        }
    }

    async fn ask_accounts(&mut self, method: &str, who: Who) -> Result<(), Status> {
        let actor = self.actor(who);
        // Who has no account tries the stranger's: what is open to all asks for no token.
        let owner = if who == Who::Visitor { Who::Stranger } else { who };
        let known = self.actor(owner);
        let (name, password) = (known.name.clone(), known.password.clone());
        match method {
            "CreateAccount" => {
                let code = self.people[&Who::Keeper].invites(ELSEWHERE, v1::Right::Onlooker).await.unwrap();
                let entitlement = Some(v1::create_account_request::Entitlement::InvitationCode(code));
                let name = format!("new-{}", self.next());
                let request = v1::CreateAccountRequest { name, password, entitlement, request_id: String::new() };
                done(actor.accounts().create_account(request).await)
            }
            "SignIn" => done(actor.accounts().sign_in(v1::SignInRequest { name, password }).await),
            "RefreshSession" => {
                let refresh_token = known.signs_in().await.unwrap().tokens.unwrap().refresh_token;
                done(actor.accounts().refresh_session(v1::RefreshSessionRequest { refresh_token }).await)
            }
            "RecoverAccount" => {
                let request = v1::RenewRecoveryCodesRequest { password: password.clone() };
                let codes = known.accounts().renew_recovery_codes(request).await.unwrap().into_inner().recovery_codes;
                let request =
                    request!(RecoverAccountRequest { name: name, code: codes[0].clone(), new_password: password });
                let outcome = done(actor.accounts().recover_account(request).await);
                self.renew(owner, None).await;
                outcome
            }
            "SignOut" => {
                let other = if who == Who::Visitor { actor } else { actor.signs_in().await.unwrap() };
                done(other.accounts().sign_out(v1::SignOutRequest {}).await)
            }
            "GetAccount" => done(actor.accounts().get_account(v1::GetAccountRequest {}).await),
            "ListSessions" => done(actor.accounts().list_sessions(v1::ListSessionsRequest::default()).await),
            "EndSession" => {
                let other = known.signs_in().await.unwrap();
                let list =
                    other.accounts().list_sessions(v1::ListSessionsRequest::default()).await.unwrap().into_inner();
                let session_id = list.sessions.into_iter().find(|it| it.current).unwrap().session_id;
                done(actor.accounts().end_session(v1::EndSessionRequest { session_id }).await)
            }
            "ChangePassword" => {
                let new_password = format!("{password} and one of oak");
                let request = v1::ChangePasswordRequest { old_password: password, new_password: new_password.clone() };
                let outcome = done(actor.accounts().change_password(request).await);
                if outcome.is_ok() {
                    self.renew(who, Some(&new_password)).await;
                }
                outcome
            }
            "RenewRecoveryCodes" => {
                done(actor.accounts().renew_recovery_codes(v1::RenewRecoveryCodesRequest { password }).await)
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_groups(&mut self, method: &str, who: Who) -> Result<(), Status> {
        let (actor, group) = (self.actor(who), self.group.clone());
        let mut client = actor.groups();
        match method {
            "CreateGroup" => {
                let name = format!("group-{}", self.next());
                done(client.create_group(request!(CreateGroupRequest { name: name, title: "A yard" })).await)
            }
            "GetGroup" => done(client.get_group(v1::GetGroupRequest { group }).await),
            "ListGroups" => done(client.list_groups(v1::ListGroupsRequest::default()).await),
            "CreateInvitation" => {
                let right = v1::Right::Onlooker;
                done(client.create_invitation(request!(CreateInvitationRequest { group: group, right: right })).await)
            }
            "AcceptInvitation" => {
                let code = self.people[&Who::Keeper].invites(ELSEWHERE, v1::Right::Onlooker).await.unwrap();
                done(client.accept_invitation(v1::AcceptInvitationRequest { code }).await)
            }
            "ListCrew" => done(client.list_crew(request!(ListCrewRequest { group: group })).await),
            "UpdateCrewRight" => {
                let (account, right) = ("pekka", v1::Right::Onlooker);
                let request = request!(UpdateCrewRightRequest { group: group, account: account, right: right });
                done(client.update_crew_right(request).await)
            }
            "RemoveCrew another" => {
                let runa = self.runa.clone();
                self.let_in(&runa, GROUP, v1::Right::Onlooker).await;
                let outcome = done(client.remove_crew(v1::RemoveCrewRequest { group, account: runa.name }).await);
                let request = v1::RemoveCrewRequest { group: GROUP.into(), account: "runa".into() };
                let _ = self.aino.groups().remove_crew(request).await;
                outcome
            }
            "RemoveCrew himself" => {
                let account = actor.name.clone();
                let outcome = done(client.remove_crew(v1::RemoveCrewRequest { group, account }).await);
                if outcome.is_ok() {
                    self.let_in(&actor, GROUP, right_of(who)).await;
                }
                outcome
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_designs(&mut self, method: &str, who: Who, design: &str) -> Result<(), Status> {
        let (actor, group, letter) = (self.actor(who), self.group.clone(), who.letter());
        let mut client = actor.designs();
        match method {
            "ListDesigns" => done(client.list_designs(request!(ListDesignsRequest { group: group })).await),
            "GetDesign" => done(client.get_design(request!(GetDesignRequest { group: group, design: design })).await),
            // Equal to the latest: what is asked about stays as it is.
            "SubmitRevision" => {
                let text = text(design, "C");
                let request =
                    request!(SubmitRevisionRequest { group: group, design: design, text: text, worked_from: "C" });
                done(client.submit_revision(request).await)
            }
            "SubmitRevision new" => {
                let design = format!("new-{}", self.next());
                let text = text(&design, "A");
                let request = request!(SubmitRevisionRequest { group: group, design: design, text: text });
                done(client.submit_revision(request).await)
            }
            "ListRevisions" => {
                done(client.list_revisions(request!(ListRevisionsRequest { group: group, design: design })).await)
            }
            "GetRevision" => {
                let request = request!(GetRevisionRequest { group: group, design: design, letter: letter });
                done(client.get_revision(request).await)
            }
            "GetRevisionBody" => {
                let request = request!(GetRevisionBodyRequest { group: group, design: design, letter: letter });
                done(client.get_revision_body(request).await)
            }
            "CompareRevisions" => {
                let mut request = request!(CompareRevisionsRequest { group: group, design: design, to_letter: "C" });
                request.from_letter = letter.into();
                done(client.compare_revisions(request).await)
            }
            "UpdateDesignVisibility" => {
                let kinds = [v1::Visibility::Group, v1::Visibility::Noticeboard, v1::Visibility::Open];
                let visibility = kinds[super::DESIGNS.iter().position(|name| *name == design).unwrap()];
                let request =
                    request!(UpdateDesignVisibilityRequest { group: group, design: design, visibility: visibility });
                done(client.update_design_visibility(request).await)
            }
            "TryFrame" => done(client.try_frame(request!(TryFrameRequest { text: text("tried", "A") })).await),
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_findings(&self, method: &str, who: Who, design: &str) -> Result<(), Status> {
        let (mut client, group, letter) = (self.actor(who).findings(), self.group.clone(), who.letter());
        if method == "GetFindings" {
            let request = request!(GetFindingsRequest { group: group, design: design, letter: letter });
            return done(client.get_findings(request).await);
        }
        let request = request!(WatchCheckRequest { group: group, design: design, letter: letter });
        begun(client.watch_check(request).await).await
    }

    async fn ask_proofs(&self, who: Who, design: &str) -> Result<(), Status> {
        let reviewer = &self.people[&Who::Reviewer];
        let load = v1::ProofLoad {
            press: Some(v1::proof_load::Press::MassKg(100.0)),
            most_sag_mm: Some(20.0),
            ..v1::ProofLoad::default()
        };
        let mut wanted = remark_wanted(GROUP, design, who.letter());
        wanted.place = Some(v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: Some(100.0) });
        let made = v1::CreateRemarkRequest { proof_load: Some(load), ..wanted };
        let number = reviewer.remarks().create_remark(made).await.unwrap().into_inner().remark.unwrap().number;
        let group = self.group.clone();
        let request = request!(ListProofResultsRequest { group: group, design: design, number: number });
        done(self.actor(who).proofs().list_proof_results(request).await)
    }

    async fn ask_remarks(&self, method: &str, who: Who, design: &str) -> Result<(), Status> {
        let (mut client, letter) = (self.actor(who).remarks(), who.letter());
        match method {
            "CreateRemark" => done(client.create_remark(remark_wanted(&self.group, design, letter)).await),
            "GetRemark" => {
                let remark = self.reference(&self.remark_by(Who::Reviewer, design, letter).await);
                done(client.get_remark(v1::GetRemarkRequest { remark }).await)
            }
            "ListRemarks" => {
                let group = self.group.clone();
                let request = request!(ListRemarksRequest { group: group, design: design, letter: letter });
                done(client.list_remarks(request).await)
            }
            "AnswerRemark" => {
                let remark = self.reference(&self.remark_by(Who::Reviewer, design, letter).await);
                done(client.answer_remark(request!(AnswerRemarkRequest { remark: remark, text: "done" })).await)
            }
            "ClearRemark" => {
                let remark = self.reference(&self.remark_by(Who::Reviewer, design, letter).await);
                done(client.clear_remark(request!(ClearRemarkRequest { remark: remark })).await)
            }
            "RaiseRemarkAgain" => {
                let remark = self.reference(&self.answered_remark(design, letter).await);
                let request = request!(RaiseRemarkAgainRequest { remark: remark, text: "it still creaks" });
                done(client.raise_remark_again(request).await)
            }
            "SetRemarkAside" => {
                // Only what came from outside is set aside, and that begins with the notice's revision.
                let by = if letter == "B" { Who::Taker } else { Who::Reviewer };
                let remark = self.reference(&self.remark_by(by, design, letter).await);
                let request = request!(SetRemarkAsideRequest { remark: remark, reason: "measured" });
                done(client.set_remark_aside(request).await)
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_reviews(&self, method: &str, who: Who, design: &str) -> Result<(), Status> {
        let (actor, group, letter) = (self.actor(who), self.group.clone(), who.letter());
        let mut client = actor.reviews();
        match method {
            "MarkLookedAt" => {
                let place = v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: None };
                let mut request = request!(MarkLookedAtRequest { group: group, design: design, letter: letter });
                (request.places, request.kind) = (vec![place], v1::LookKind::LookedAtOnly.into());
                done(client.mark_looked_at(request).await)
            }
            "ConcludeReview" => {
                let disposition = v1::Disposition::CutIt;
                let mut request = request!(ConcludeReviewRequest { group: group, design: design, letter: letter });
                request.disposition = disposition.into();
                done(client.conclude_review(request).await)
            }
            "GetReview" => done(
                client.get_review(request!(GetReviewRequest { group: group, design: design, letter: letter })).await,
            ),
            "BeginOwnSums" => {
                let outcome = begin_own_sums(&actor, &group, design).await;
                let _ = end_own_sums(&actor, GROUP, design).await;
                outcome
            }
            "EndOwnSums" => {
                let _ = begin_own_sums(&actor, GROUP, design).await;
                let outcome = end_own_sums(&actor, &group, design).await;
                let _ = end_own_sums(&actor, GROUP, design).await;
                outcome
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_cutting(&self, method: &str, who: Who, design: &str) -> Result<(), Status> {
        let (mut client, group) = (self.actor(who).cutting(), self.group.clone());
        let names = || (group.clone(), design, "B");
        match method {
            "IssueForCutting" => done(client.issue_for_cutting(issue(&group, design)).await),
            "TakeBackCuttingStamp" => {
                let author = &self.people[&Who::Author];
                author.cutting().issue_for_cutting(issue(GROUP, design)).await.unwrap();
                let (group, design, letter) = names();
                let mut request =
                    request!(TakeBackCuttingStampRequest { group: group, design: design, letter: letter });
                request.reason = "not this one".into();
                done(client.take_back_cutting_stamp(request).await)
            }
            "ListCuttingStamps" => {
                let request = request!(ListCuttingStampsRequest { group: group.clone(), design: design });
                done(client.list_cutting_stamps(request).await)
            }
            "GrantConcession" => {
                let (group_name, design_name, letter) = (GROUP, design, "B");
                let get = request!(GetFindingsRequest { group: group_name, design: design_name, letter: letter });
                let found = self.people[&Who::Author].findings().get_findings(get).await.unwrap().into_inner().findings;
                let check = found.unwrap().checks.into_iter().next().unwrap();
                let (group, design, letter) = names();
                let mut request = request!(GrantConcessionRequest { group: group, design: design, letter: letter });
                (request.tag, request.check_kind, request.reason) = (check.tag, check.kind, "it is a shelf".into());
                done(client.grant_concession(request).await)
            }
            "ListConcessions" => {
                let (group, design, letter) = names();
                let request = request!(ListConcessionsRequest { group: group, design: design, letter: letter });
                done(client.list_concessions(request).await)
            }
            "RecordAsBuilt" => {
                let (group, design, letter) = names();
                let mut request = request!(RecordAsBuiltRequest { group: group, design: design, letter: letter });
                request.note = "built as drawn".into();
                done(client.record_as_built(request).await)
            }
            "ListAsBuilts" => {
                let request = request!(ListAsBuiltsRequest { group: group.clone(), design: design });
                done(client.list_as_builts(request).await)
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_notices(&self, method: &str, who: Who, design: &str) -> Result<(), Status> {
        let actor = self.actor(who);
        let mut client = actor.notices();
        match method {
            "HangNotice" => {
                let hung = client.hang_notice(notice_wanted(&self.group, design, "B")).await;
                if let Ok(hung) = &hung {
                    self.takes_down(&hung.get_ref().notice.as_ref().unwrap().id).await;
                }
                return done(hung);
            }
            "GetNotice" => {
                let notice_id = self.notices[design].clone();
                return done(client.get_notice(v1::GetNoticeRequest { notice_id }).await);
            }
            "ListNotices" => return done(client.list_notices(v1::ListNoticesRequest::default()).await),
            "ListGroupNotices" => {
                let group = self.group.clone();
                return done(client.list_group_notices(request!(ListGroupNoticesRequest { group: group })).await);
            }
            "GetReviewerRecord" => {
                let request = v1::GetReviewerRecordRequest { account: "liv".into() };
                return done(client.get_reviewer_record(request).await);
            }
            _ => {}
        }
        // The rest changes its notice: each gets one of its own.
        let notice_id = self.hangs(design).await;
        let outcome = self.ask_of_a_fresh_notice(method, who, &actor, &notice_id).await;
        self.takes_down(&notice_id).await;
        outcome
    }

    async fn ask_of_a_fresh_notice(&self, method: &str, who: Who, actor: &Actor, id: &str) -> Result<(), Status> {
        let (mut client, notice_id) = (actor.notices(), id.to_owned());
        match method {
            "GetNotice taken down" => {
                self.takes_up(Who::Taker, id).await.unwrap();
                self.takes_down(id).await;
                let outcome = done(client.get_notice(v1::GetNoticeRequest { notice_id }).await);
                self.hands_back(Who::Taker, id).await.unwrap();
                outcome
            }
            "TakeDownNotice" => done(client.take_down_notice(v1::TakeDownNoticeRequest { notice_id }).await),
            "TakeUpNotice" => {
                let outcome = self.takes_up(who, id).await;
                let _ = self.hands_back(who, id).await;
                outcome
            }
            "HandBackNotice" => {
                let _ = self.takes_up(who, id).await;
                self.hands_back(who, id).await
            }
            "EndTakeUp" => {
                let taken = v1::TakeUpNoticeRequest { notice_id: notice_id.clone() };
                self.runa.notices().take_up_notice(taken).await.unwrap();
                let (account, reason) = (self.runa.name.clone(), "enough".to_owned());
                let outcome = done(client.end_take_up(v1::EndTakeUpRequest { notice_id, account, reason }).await);
                let back = v1::HandBackNoticeRequest { notice_id: id.to_owned() };
                let _ = self.runa.notices().hand_back_notice(back).await;
                outcome
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_vehicles(&mut self, method: &str, who: Who) -> Result<(), Status> {
        let (mut client, group) = (self.actor(who).vehicles(), self.group.clone());
        let vehicle = || "Dunlin".to_owned();
        if method == "RecordSurvey" {
            let figures = v1::Vehicle { name: vehicle(), track_mm: Some(1630.0), ..v1::Vehicle::default() };
            let request_id = format!("survey-{}", self.next());
            let request = v1::RecordSurveyRequest { group, vehicle: Some(figures), note: String::new(), request_id };
            return done(client.record_survey(request).await);
        }
        match method {
            "ListVehicles" => done(client.list_vehicles(request!(ListVehiclesRequest { group: group })).await),
            "GetVehicle" => {
                done(client.get_vehicle(request!(GetVehicleRequest { group: group, vehicle: vehicle() })).await)
            }
            "SumVehicleMasses" => {
                let request = request!(SumVehicleMassesRequest { group: group, vehicle: vehicle() });
                done(client.sum_vehicle_masses(request).await)
            }
            other => panic!("nobody has said how {other} is called"),
        }
    }

    async fn ask_news(&self, method: &str, who: Who) -> Result<(), Status> {
        let mut client = self.actor(who).news();
        if method == "ListNews" {
            return done(client.list_news(v1::ListNewsRequest::default()).await);
        }
        begun(client.listen_news(v1::ListenNewsRequest::default()).await).await
    }
}

fn right_of(who: Who) -> v1::Right {
    match who {
        Who::Onlooker => v1::Right::Onlooker,
        Who::Reviewer => v1::Right::Reviewer,
        Who::Keeper => v1::Right::Keeper,
        _ => v1::Right::Builder,
    }
}

fn issue(group: &str, design: &str) -> v1::IssueForCuttingRequest {
    request!(IssueForCuttingRequest { group: group, design: design, letter: "B" })
}

async fn begin_own_sums(actor: &Actor, group: &str, design: &str) -> Result<(), Status> {
    done(actor.reviews().begin_own_sums(request!(BeginOwnSumsRequest { group: group, design: design })).await)
}

async fn end_own_sums(actor: &Actor, group: &str, design: &str) -> Result<(), Status> {
    let request = request!(EndOwnSumsRequest { group: group, design: design, reason: "only looking" });
    done(actor.reviews().end_own_sums(request).await)
}
