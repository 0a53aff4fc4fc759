//! One scene at a server of its own, on each database.

use super::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions, block_on};
use crate::verify::not_run;
use battenboard_proto::v1;
use prost::Message;
use std::time::Duration;
use tonic::Status;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::transport::Channel;

/// A server with a fresh database, and the way to it.
pub struct Bench {
    served: Option<Served>,
    database: Database,
    options: ServedOptions,
    channel: Channel,
}

/// The crew of Saltmarsh Wheels.
pub struct Crew {
    /// Keeper.
    pub ines: Actor,
    /// Reviewer.
    pub okoro: Actor,
    /// Builder.
    pub maarit: Actor,
}

/// Plays a scene on SQLite and, where the machine has it, on PostgreSQL; notes it as not run where it has not.
///
/// # Panics
/// Where the scene does.
pub fn on_both(name: &str, scene: impl AsyncFn(&mut Bench)) {
    on_both_with(name, |_| (), scene);
}

/// The same at a server that is told otherwise.
///
/// # Panics
/// Where the scene does.
pub fn on_both_with(name: &str, change: impl Fn(&mut ServedOptions), scene: impl AsyncFn(&mut Bench)) {
    DatabaseKind::ALL.into_iter().for_each(|kind| play(kind, name, &change, &scene));
}

/// Plays a scene that needs more than one server, on PostgreSQL where the machine has it.
///
/// # Panics
/// Where the scene does.
pub fn on_postgres(name: &str, scene: impl AsyncFn(&mut Bench)) {
    play(DatabaseKind::Postgres, name, &|_: &mut ServedOptions| (), &scene);
}

fn play(kind: DatabaseKind, name: &str, change: &impl Fn(&mut ServedOptions), scene: &impl AsyncFn(&mut Bench)) {
    if !kind.is_here() {
        not_run("postgres", name);
        return;
    }
    block_on(async {
        let mut bench = Bench::on(kind, change).await;
        scene(&mut bench).await;
        bench.served.take().map(Served::stop);
    });
}

#[allow(clippy::expect_used, reason = "a failed step is a failed test")]
impl Bench {
    async fn on(kind: DatabaseKind, change: &impl Fn(&mut ServedOptions)) -> Self {
        let database = Database::fresh(kind);
        let mut options = ServedOptions::on(&database);
        change(&mut options);
        let served = Served::start(&options).expect("a server");
        let channel = served.channel().await.expect("a way to the server");
        Self { served: Some(served), database, options, channel }
    }

    /// Host and port of the server.
    ///
    /// # Panics
    /// Where none runs.
    pub fn address(&self) -> std::net::SocketAddr {
        self.served.as_ref().expect("a running server").address()
    }

    /// The database's kind.
    pub fn kind(&self) -> DatabaseKind {
        self.database.kind
    }

    /// The database.
    pub fn database(&self) -> &Database {
        &self.database
    }

    /// Stops the server and starts another on the same data. Actors from before reach it through [`Self::again`].
    ///
    /// # Panics
    /// Where it does not stop or start.
    pub async fn restart(&mut self) {
        self.restart_after(async |_| ()).await;
    }

    /// The same with something done to the database while no server runs.
    ///
    /// # Panics
    /// Where it does not stop or start.
    pub async fn restart_after(&mut self, between: impl AsyncFnOnce(&Database)) {
        self.served.take().expect("a running server").stop().expect("a server that stops");
        between(&self.database).await;
        let served = Served::start(&self.options).expect("a server");
        self.channel = served.channel().await.expect("a way to the server");
        self.served = Some(served);
    }

    /// Another server on the same database; only PostgreSQL has more than one.
    ///
    /// # Panics
    /// Where it does not start.
    pub fn another_server(&self) -> Served {
        assert_eq!(self.kind(), DatabaseKind::Postgres, "SQLite has one server");
        Served::start(&self.options).expect("another server")
    }

    /// The same person, calling the server that runs now.
    pub fn again(&self, actor: &Actor) -> Actor {
        actor.through(self.channel.clone())
    }

    /// Somebody without an account.
    pub fn stranger(&self) -> Actor {
        Actor::stranger(self.channel.clone())
    }

    /// The first account of the server.
    ///
    /// # Panics
    /// Where it is refused.
    pub async fn first_account(&self, name: &str) -> Actor {
        self.stranger().makes_account(name, None).await.expect("the first account")
    }

    /// The group of the demo with its crew.
    ///
    /// # Panics
    /// Where a step is refused.
    pub async fn saltmarsh(&self) -> Crew {
        let ines = self.first_account("ines").await;
        ines.founds(GROUP).await.expect("a group");
        let okoro = ines.lets_in("okoro", GROUP, v1::Right::Reviewer).await.expect("a reviewer");
        let maarit = ines.lets_in("maarit", GROUP, v1::Right::Builder).await.expect("a builder");
        Crew { ines, okoro, maarit }
    }

    /// Waits until what servers may remember of sessions and rights is stale (they may for two seconds).
    pub async fn until_cache_is_stale(&self) {
        tokio::time::sleep(Duration::from_millis(2100)).await;
    }

    /// The key that signs the server's tokens, as its host could read it.
    ///
    /// # Panics
    /// Where there is no such key.
    pub fn signing_key(&self, key_id: &str) -> Vec<u8> {
        let file = self.database.folder().join("keys").join(format!("{key_id}.key"));
        let text = std::fs::read_to_string(&file).expect("the key's file");
        let digits = text.trim();
        (0..digits.len() / 2).filter_map(|i| u8::from_str_radix(&digits[2 * i..2 * i + 2], 16).ok()).collect()
    }

    /// Every method of the contract, as (full service name, method), by the descriptor.
    ///
    /// # Panics
    /// Where the descriptor can't be read.
    pub fn methods(&self) -> Vec<(String, String)> {
        let set = prost_types::FileDescriptorSet::decode(battenboard_proto::FILE_DESCRIPTOR_SET).expect("a descriptor");
        let mut methods = Vec::new();
        for file in set.file.iter().filter(|file| file.package() == "battenboard.v1") {
            for service in &file.service {
                for method in &service.method {
                    methods.push((format!("battenboard.v1.{}", service.name()), method.name().to_owned()));
                }
            }
        }
        methods
    }

    /// Calls a method with an empty request and no token.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn call_empty(&self, service: &str, method: &str) -> Result<(), Status> {
        self.call_empty_holding(service, method, None).await
    }

    /// The same with a token, good or bad.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn call_empty_holding(&self, service: &str, method: &str, token: Option<&str>) -> Result<(), Status> {
        let mut client = tonic::client::Grpc::new(self.channel.clone());
        client.ready().await.map_err(|error| Status::unavailable(error.to_string()))?;
        let path: PathAndQuery =
            format!("/{service}/{method}").parse().map_err(|_| Status::invalid_argument("not a path"))?;
        let mut request = tonic::Request::new(());
        if let Some(token) = token {
            let value = format!("Bearer {token}").parse().map_err(|_| Status::invalid_argument("not a header"))?;
            request.metadata_mut().insert("authorization", value);
        }
        let codec = tonic_prost::ProstCodec::<(), ()>::default();
        client.unary(request, path, codec).await.map(|_| ())
    }
}
