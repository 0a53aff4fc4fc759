//! People at the server, for tests that read as sentences: `okoro.remarks_on(&curlew, "M4", "too slender").await`.

use battenboard_proto::v1;
use battenboard_proto::v1::account_service_client::AccountServiceClient;
use battenboard_proto::v1::cutting_service_client::CuttingServiceClient;
use battenboard_proto::v1::design_service_client::DesignServiceClient;
use battenboard_proto::v1::finding_service_client::FindingServiceClient;
use battenboard_proto::v1::group_service_client::GroupServiceClient;
use battenboard_proto::v1::news_service_client::NewsServiceClient;
use battenboard_proto::v1::notice_service_client::NoticeServiceClient;
use battenboard_proto::v1::proof_service_client::ProofServiceClient;
use battenboard_proto::v1::remark_service_client::RemarkServiceClient;
use battenboard_proto::v1::review_service_client::ReviewServiceClient;
use battenboard_proto::v1::server_info_service_client::ServerInfoServiceClient;
use battenboard_proto::v1::vehicle_service_client::VehicleServiceClient;
use std::time::Duration;
use tonic::metadata::{Ascii, MetadataValue};
use tonic::service::Interceptor;
use tonic::service::interceptor::InterceptedService;
use tonic::transport::Channel;
use tonic::{Request, Status};

/// The one group of the demo.
pub const GROUP: &str = "saltmarsh-wheels";

/// Largest answer a test takes; findings of large frames are over the usual 4 MB.
const MESSAGE_LIMIT: usize = 32 << 20;

/// Puts the access token into each call; without one, calls go as a stranger's.
#[derive(Clone, Debug, Default)]
pub struct Bearer(Option<MetadataValue<Ascii>>);

impl Bearer {
    /// The header of one token; a token that is no header text goes as none.
    pub fn of(token: &str) -> Self {
        Self(format!("Bearer {token}").parse().ok())
    }
}

impl Interceptor for Bearer {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        if let Some(value) = &self.0 {
            request.metadata_mut().insert("authorization", value.clone());
        }
        Ok(request)
    }
}

/// A channel with somebody's token.
pub type Wire = InterceptedService<Channel, Bearer>;

/// Somebody at the server, signed in or not.
#[derive(Clone, Debug)]
pub struct Actor {
    /// Account name; empty for a stranger.
    pub name: String,
    /// Password it was made with.
    pub password: String,
    /// Tokens of the session; `None` for a stranger.
    pub tokens: Option<v1::Tokens>,
    channel: Channel,
    bearer: Bearer,
}

macro_rules! clients {
    ($($method:ident: $client:ident, $what:literal;)+) => {
        impl Actor {$(
            #[doc = concat!("Calls on ", $what, " with this actor's token.")]
            pub fn $method(&self) -> $client<Wire> {
                let wire = InterceptedService::new(self.channel.clone(), self.bearer.clone());
                $client::new(wire).max_decoding_message_size(MESSAGE_LIMIT).max_encoding_message_size(512 << 20)
            }
        )+}
    };
}

clients! {
    accounts: AccountServiceClient, "accounts";
    groups: GroupServiceClient, "groups";
    designs: DesignServiceClient, "designs";
    findings: FindingServiceClient, "findings";
    remarks: RemarkServiceClient, "remarks";
    reviews: ReviewServiceClient, "reviews";
    cutting: CuttingServiceClient, "what is issued for cutting";
    notices: NoticeServiceClient, "notices";
    news: NewsServiceClient, "news";
    proofs: ProofServiceClient, "results of proof loads";
    vehicles: VehicleServiceClient, "vehicles";
    server_info: ServerInfoServiceClient, "the server itself";
}

impl Actor {
    /// Somebody without an account.
    pub fn stranger(channel: Channel) -> Self {
        Self { name: String::new(), password: String::new(), tokens: None, channel, bearer: Bearer::default() }
    }

    /// The same person with another access token in hand, good or bad.
    #[must_use]
    pub fn holding(&self, token: &str) -> Self {
        Self { bearer: Bearer::of(token), ..self.clone() }
    }

    /// The same person on another way to a server.
    #[must_use]
    pub fn through(&self, channel: Channel) -> Self {
        Self { channel, ..self.clone() }
    }

    /// A stranger who knows somebody's name and password.
    #[must_use]
    pub fn with_account(&self, other: &Self) -> Self {
        Self { name: other.name.clone(), password: other.password.clone(), ..self.clone() }
    }

    /// This actor's access token; empty for a stranger.
    pub fn access_token(&self) -> String {
        self.tokens.as_ref().map(|tokens| tokens.access_token.clone()).unwrap_or_default()
    }

    /// Makes an account, with an invitation's code or without.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn makes_account(&self, name: &str, code: Option<&str>) -> Result<Self, Status> {
        let password = format!("seven planks of larch, {}", name.len());
        let entitlement = code.map(|code| v1::create_account_request::Entitlement::InvitationCode(code.to_owned()));
        let request = v1::CreateAccountRequest {
            name: name.to_owned(),
            password: password.clone(),
            entitlement,
            request_id: String::new(),
        };
        let tokens = self.accounts().create_account(request).await?.into_inner().tokens;
        let bearer = Bearer::of(tokens.as_ref().map_or("", |tokens| &tokens.access_token));
        Ok(Self { name: name.to_owned(), password, tokens, channel: self.channel.clone(), bearer })
    }

    /// Signs in anew: another session of the same account.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn signs_in(&self) -> Result<Self, Status> {
        let request = v1::SignInRequest { name: self.name.clone(), password: self.password.clone() };
        let tokens = self.accounts().sign_in(request).await?.into_inner().tokens;
        let bearer = Bearer::of(tokens.as_ref().map_or("", |tokens| &tokens.access_token));
        Ok(Self { tokens, bearer, ..self.clone() })
    }

    /// Founds a group and is its keeper.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn founds(&self, group: &str) -> Result<v1::Group, Status> {
        let request = v1::CreateGroupRequest {
            name: group.to_owned(),
            title: "Saltmarsh Wheels".into(),
            request_id: String::new(),
        };
        let made = self.groups().create_group(request).await?.into_inner().group;
        made.ok_or_else(|| Status::internal("an answer without a group"))
    }

    /// Makes a code that lets one person into a group.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn invites(&self, group: &str, right: v1::Right) -> Result<String, Status> {
        let request =
            v1::CreateInvitationRequest { group: group.to_owned(), right: right.into(), request_id: String::new() };
        Ok(self.groups().create_invitation(request).await?.into_inner().code)
    }

    /// Lets somebody new into a group, with a fresh account.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn lets_in(&self, name: &str, group: &str, right: v1::Right) -> Result<Self, Status> {
        let code = self.invites(group, right).await?;
        Self::stranger(self.channel.clone()).makes_account(name, Some(&code)).await
    }

    /// Submits a design file's text, worked from a letter (empty: the first).
    ///
    /// # Errors
    /// What the server answers.
    pub async fn submits(
        &self,
        group: &str,
        design: &str,
        text: &str,
        worked_from: &str,
    ) -> Result<v1::SubmitRevisionResponse, Status> {
        let request = v1::SubmitRevisionRequest {
            group: group.to_owned(),
            design: design.to_owned(),
            frame: None,
            text: text.to_owned(),
            note: String::new(),
            worked_from: worked_from.to_owned(),
            request_id: uuid::Uuid::now_v7().to_string(),
            drawn_after: None,
        };
        Ok(self.designs().submit_revision(request).await?.into_inner())
    }

    /// Records a survey of a vehicle.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn surveys(
        &self,
        group: &str,
        figures: v1::Vehicle,
        note: &str,
    ) -> Result<v1::RecordSurveyResponse, Status> {
        let request = v1::RecordSurveyRequest {
            group: group.to_owned(),
            vehicle: Some(figures),
            note: note.to_owned(),
            request_id: uuid::Uuid::now_v7().to_string(),
        };
        Ok(self.vehicles().record_survey(request).await?.into_inner())
    }

    /// Waits for a revision's findings (empty letter: the latest).
    ///
    /// # Errors
    /// What the server answers, or that the stream ended without findings.
    pub async fn waits_for_findings(&self, group: &str, design: &str, letter: &str) -> Result<v1::Findings, Status> {
        let request =
            v1::WatchCheckRequest { group: group.to_owned(), design: design.to_owned(), letter: letter.to_owned() };
        let mut stream = self.findings().watch_check(request).await?.into_inner();
        while let Some(response) = stream.message().await? {
            if let Some(findings) = response.findings {
                return Ok(findings);
            }
        }
        Err(Status::data_loss("the stream ended without findings"))
    }

    /// Puts a snag on a member of a design's latest revision.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn remarks_on(&self, group: &str, design: &str, tag: &str, text: &str) -> Result<v1::Remark, Status> {
        let place = v1::Place { kind: v1::PlaceKind::Member.into(), tag: tag.to_owned(), at_mm: None };
        let request = v1::CreateRemarkRequest {
            group: group.to_owned(),
            design: design.to_owned(),
            letter: String::new(),
            place: Some(place),
            kind: v1::RemarkKind::Snag.into(),
            text: text.to_owned(),
            request_id: String::new(),
            proof_load: None,
        };
        let made = self.remarks().create_remark(request).await?.into_inner().remark;
        made.ok_or_else(|| Status::internal("an answer without a remark"))
    }

    /// Listens to news from a cursor on (empty: from now on).
    ///
    /// # Errors
    /// What the server answers.
    pub async fn listens(&self, cursor: &str) -> Result<Ear, Status> {
        let request = v1::ListenNewsRequest { cursor: cursor.to_owned() };
        let stream = self.news().listen_news(request).await?.into_inner();
        Ok(Ear { stream, cursor: cursor.to_owned() })
    }

    /// Answers a remark.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn answers(&self, remark: &v1::Remark, text: &str) -> Result<v1::Remark, Status> {
        let request =
            v1::AnswerRemarkRequest { remark: by_id(remark), text: text.to_owned(), request_id: String::new() };
        let answered = self.remarks().answer_remark(request).await?.into_inner().remark;
        answered.ok_or_else(|| Status::internal("an answer without a remark"))
    }

    /// Clears a remark.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn clears(&self, remark: &v1::Remark) -> Result<v1::Remark, Status> {
        let request = v1::ClearRemarkRequest { remark: by_id(remark), note: String::new(), request_id: String::new() };
        let cleared = self.remarks().clear_remark(request).await?.into_inner().remark;
        cleared.ok_or_else(|| Status::internal("an answer without a remark"))
    }

    /// Raises a remark again.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn raises_again(&self, remark: &v1::Remark, text: &str) -> Result<v1::Remark, Status> {
        let request =
            v1::RaiseRemarkAgainRequest { remark: by_id(remark), text: text.to_owned(), request_id: String::new() };
        let raised = self.remarks().raise_remark_again(request).await?.into_inner().remark;
        raised.ok_or_else(|| Status::internal("an answer without a remark"))
    }
}

/// An open stream of news.
#[derive(Debug)]
pub struct Ear {
    stream: tonic::Streaming<v1::ListenNewsResponse>,
    /// That of the last message.
    pub cursor: String,
}

impl Ear {
    /// The next message, at most ten seconds from now.
    ///
    /// # Errors
    /// How the stream ended; DEADLINE_EXCEEDED where nothing came.
    pub async fn message(&mut self) -> Result<v1::ListenNewsResponse, Status> {
        let next = tokio::time::timeout(Duration::from_secs(10), self.stream.message()).await;
        let next = next.map_err(|_| Status::deadline_exceeded("nothing was heard for ten seconds"))??;
        let message = next.ok_or_else(|| Status::data_loss("the stream ended without a word"))?;
        self.cursor.clone_from(&message.cursor);
        Ok(message)
    }

    /// Hears on until all that was missed is told; gives it.
    ///
    /// # Errors
    /// As [`Self::message`].
    pub async fn catches_up(&mut self) -> Result<Vec<v1::Event>, Status> {
        let mut events = Vec::new();
        loop {
            let message = self.message().await?;
            events.extend(message.events);
            if message.caught_up {
                return Ok(events);
            }
        }
    }

    /// Hears so many events.
    ///
    /// # Errors
    /// As [`Self::message`].
    pub async fn hears(&mut self, count: usize) -> Result<Vec<v1::Event>, Status> {
        let mut events = Vec::new();
        while events.len() < count {
            events.extend(self.message().await?.events);
        }
        Ok(events)
    }

    /// Hears on until the stream ends; gives how, with what came before.
    pub async fn hears_to_the_end(&mut self) -> (Vec<v1::Event>, Status) {
        let mut events = Vec::new();
        loop {
            match self.message().await {
                Ok(message) => events.extend(message.events),
                Err(status) => return (events, status),
            }
        }
    }
}

/// Refers to a remark by its id.
pub fn by_id(remark: &v1::Remark) -> Option<v1::RemarkReference> {
    Some(v1::RemarkReference { by: Some(v1::remark_reference::By::Id(remark.id.clone())) })
}
