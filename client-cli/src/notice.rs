//! A notice as the command shows it; free of the wire's types.

use serde::Serialize;

/// Where a notice stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoticeState {
    /// Hangs for all to take up.
    Hanging,
    /// Its day is over.
    RunOut,
    /// Taken down by its group.
    TakenDown,
}

/// How a taking up ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TakeUpEnd {
    /// Handed back.
    HandedBack,
    /// Ended by a keeper.
    ByKeeper,
}

/// Somebody who took a notice up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TakeUp {
    /// Who.
    pub account: String,
    /// When, microseconds of Unix time.
    pub taken_us: i64,
    /// How it ended; `None`: it goes on.
    pub end: Option<TakeUpEnd>,
    /// When it ended, microseconds of Unix time.
    pub ended_us: Option<i64>,
    /// Why a keeper ended it.
    pub reason: String,
}

/// A wish for a second opinion.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Notice {
    /// Short code, unique on the server.
    pub code: String,
    /// Build group; `None` where one may not see the design.
    pub group: Option<String>,
    /// Design; `None` where one may not see it.
    pub design: Option<String>,
    /// Letter of the revision it is about.
    pub letter: String,
    /// What worries the builder.
    pub worry: String,
    /// The vehicle in words.
    pub vehicle: String,
    /// The kind of frame in words.
    pub frame_kind: String,
    /// What a reviewer should know about.
    pub skills: Vec<String>,
    /// Who hung it.
    pub hung_by: String,
    /// When, microseconds of Unix time.
    pub hung_us: i64,
    /// When it runs out, microseconds of Unix time.
    pub ends_us: i64,
    /// Where it stands.
    pub state: NoticeState,
    /// How many may have it at a time.
    pub most_takers: i32,
    /// How many have it.
    pub takers: i32,
    /// True where one has it oneself.
    pub mine: bool,
    /// Who took it up, oldest first; for its group and those who took it up.
    pub take_ups: Vec<TakeUp>,
}

/// What somebody has done as a reviewer for other groups.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Record {
    /// Who.
    pub account: String,
    /// Notices taken up.
    pub taken_up: i32,
    /// Designs of other groups concluded on.
    pub concluded: i32,
    /// Snags raised on designs of other groups.
    pub snags: i32,
    /// Of these, those cleared on a later revision.
    pub mended: i32,
}
