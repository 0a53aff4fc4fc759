//! `completions`: a script for a shell.

use crate::args::CompletionsArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;

pub fn run(args: &CompletionsArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    // Into memory first: the generator panics when its writer fails, and a closed pipe is no reason to.
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut crate::command(), "batten", &mut script);
    io.write_out(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Holds)
}
