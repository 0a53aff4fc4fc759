//! What each verb does. Each file is one verb or a family of verbs; the work of a verb is: resolve what is meant, ask the
//! engine or the server, show.

mod account;
mod check;
mod completions;
mod cutting;
mod designs;
mod group;
mod here;
mod join;
mod news;
mod notices;
mod online;
mod pages;
mod passwords;
mod proof_load;
mod recovery;
mod remarks;
mod reviews;
mod start;
mod submit;
mod try_stock;
mod vehicles;
mod why;
mod withheld;
mod words;

use crate::args::{CommandLine, Verb};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use std::path::{Path, PathBuf};

/// What holds for every verb.
pub struct Common {
    /// The design file, where one was named.
    pub file: Option<PathBuf>,
    /// Answer as JSON.
    pub json: bool,
    /// The server, where one was named.
    pub server: Option<String>,
}

impl Common {
    fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }
}

/// Does what was typed.
///
/// # Errors
/// Whatever kept it from being done; printed by the caller.
pub fn dispatch(line: CommandLine, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let CommandLine { file, json, server, verb } = line;
    let common = Common { file, json, server };
    let Some(verb) = verb else { return here::run(&common, io) };
    match verb {
        Verb::Start(args) => start::run(&common, args, io),
        Verb::Check(args) => check::run(&common, &args, io),
        Verb::Why(args) => why::run(&common, &args, io),
        Verb::Try(args) => try_stock::run(&common, &args, io),
        Verb::Join(args) => join::run(&common, args, io),
        Verb::SignUp(args) => account::sign_up(&common, args, io),
        Verb::SignIn(args) => account::sign_in(&common, args, io),
        Verb::SignOut => account::sign_out(&common, io),
        Verb::Account(args) => account::account(&common, args, io),
        Verb::FoundGroup(args) => group::found(&common, args, io),
        Verb::LetIn(args) => group::let_in(&common, &args, io),
        Verb::Enter(args) => group::enter(&common, args, io),
        Verb::Crew(args) => group::crew(&common, &args, io),
        Verb::Designs(args) => designs::designs(&common, &args, io),
        Verb::Submit(args) => submit::run(&common, args, io),
        Verb::Revisions(args) => designs::revisions(&common, &args, io),
        Verb::Compare(args) => designs::compare(&common, args, io),
        Verb::FetchFile(args) => designs::fetch_file(&common, args, io),
        Verb::Remark(args) => remarks::remark(&common, args, io),
        Verb::ProofLoad(args) => proof_load::run(&common, args, io),
        Verb::Remarks(args) => remarks::list(&common, &args, io),
        Verb::Answer(args) => remarks::answer(&common, args, io),
        Verb::Clear(args) => remarks::clear(&common, args, io),
        Verb::RaiseAgain(args) => remarks::raise_again(&common, args, io),
        Verb::SetAside(args) => remarks::set_aside(&common, args, io),
        Verb::Ask(args) => notices::ask(&common, args, io),
        Verb::Notices(args) => notices::list(&common, args, io),
        Verb::TakeUp(args) => notices::take_up(&common, args, io),
        Verb::HandBack(args) => notices::hand_back(&common, args, io),
        Verb::TakeDown(args) => notices::take_down(&common, args, io),
        Verb::EndLook(args) => notices::end_look(&common, args, io),
        Verb::Record(args) => notices::record(&common, args, io),
        Verb::ShowTo(args) => designs::show_to(&common, &args, io),
        Verb::LookedAt(args) => reviews::looked_at(&common, &args, io),
        Verb::Conclude(args) => reviews::conclude(&common, args, io),
        Verb::Review(args) => reviews::review(&common, args, io),
        Verb::OwnSums(args) => reviews::own_sums(&common, args, io),
        Verb::IssueForCutting(args) => cutting::issue(&common, args, io),
        Verb::TakeBack(args) => cutting::take_back(&common, args, io),
        Verb::Concede(args) => cutting::concede(&common, args, io),
        Verb::Concessions(args) => cutting::concessions(&common, args, io),
        Verb::AsBuilt(args) => cutting::as_built(&common, args, io),
        Verb::AsBuilts(args) => cutting::as_builts(&common, &args, io),
        Verb::Vehicles(args) => vehicles::list(&common, &args, io),
        Verb::Vehicle(args) => vehicles::show(&common, args, io),
        Verb::Survey(args) => vehicles::survey(&common, args, io),
        Verb::News(args) => news::news(&common, &args, io),
        Verb::Listen => news::listen(&common, io),
        Verb::Words(args) => words::run(&common, &args, io),
        Verb::Completions(args) => completions::run(&args, io),
        Verb::Pages(args) => pages::run(&args, io),
    }
}

#[cfg(test)]
mod offline_tests;
