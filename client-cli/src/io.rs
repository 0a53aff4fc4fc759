//! Everything the command takes from around it: streams, folders, the screen's width, the clock. Tests and the demo
//! give their own; nothing else in this crate reads the environment.

use crate::error::ClientError;
use crate::output::sheet::{Sheet, WIDEST};
use std::io::{BufRead, IsTerminal, Write};
use std::path::PathBuf;

/// Longest JSON that is spread over lines, bytes.
const PRETTY_MAX: usize = 65_536;

/// Environment variable that names the folder of the command's own files (accounts, tokens).
pub const CONFIG_DIR: &str = "BATTEN_CONFIG_DIR";

/// The surroundings of one run of the command.
pub struct Io<'a> {
    /// Where answers to questions and passwords (`--password-file -`) come from.
    pub stdin: Box<dyn BufRead + 'a>,
    /// Data: screens, tables, JSON.
    pub stdout: Box<dyn Write + 'a>,
    /// All else: progress, notes, errors.
    pub stderr: Box<dyn Write + 'a>,
    /// Folder the command works in.
    pub current_dir: PathBuf,
    /// Folder of accounts and tokens; made when first needed, readable by its owner alone.
    pub config_dir: PathBuf,
    /// Columns of the screen.
    pub width: usize,
    /// Colour allowed on stdout.
    pub colour: bool,
    /// Questions may be asked: someone sits at a terminal.
    pub asks: bool,
    /// The clock.
    pub now: fn() -> jiff::Timestamp,
    /// Zone in which times are shown.
    pub zone: jiff::tz::TimeZone,
}

impl<'a> Io<'a> {
    /// The surroundings of a real run: the process's streams, folders and terminal.
    ///
    /// # Errors
    /// [`ClientError::Folder`] where there is no current folder or no place for the command's own files.
    pub fn of_process() -> Result<Io<'static>, ClientError> {
        let current_dir = std::env::current_dir().map_err(|source| ClientError::Folder { what: "current", source })?;
        let terminal = std::io::stdout().is_terminal();
        let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            || std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
        Ok(Io {
            stdin: Box::new(std::io::stdin().lock()),
            stdout: Box::new(std::io::stdout().lock()),
            stderr: Box::new(std::io::stderr().lock()),
            config_dir: config_dir_of_process()?,
            current_dir,
            width: if terminal { columns.unwrap_or(WIDEST) } else { WIDEST },
            colour: terminal && !plain,
            asks: std::io::stdin().is_terminal(),
            now: jiff::Timestamp::now,
            zone: jiff::tz::TimeZone::system(),
        })
    }

    /// Surroundings that write into buffers, for the demo and for tests: 80 columns, no colour, no questions but those
    /// that `input` answers, times in UTC.
    pub fn captured(
        input: &'a [u8],
        stdout: &'a mut Vec<u8>,
        stderr: &'a mut Vec<u8>,
        current_dir: impl Into<PathBuf>,
        config_dir: impl Into<PathBuf>,
    ) -> Self {
        Self {
            stdin: Box::new(input),
            stdout: Box::new(stdout),
            stderr: Box::new(stderr),
            current_dir: current_dir.into(),
            config_dir: config_dir.into(),
            width: WIDEST,
            colour: false,
            asks: false,
            now: jiff::Timestamp::now,
            zone: jiff::tz::TimeZone::UTC,
        }
    }

    /// An empty screen of this width.
    pub fn sheet(&self) -> Sheet {
        Sheet::new(self.width)
    }

    /// Shows a screen on stdout; the verdict words at the start of a line get their colour where colour is allowed.
    ///
    /// # Errors
    /// [`ClientError::PipeClosed`] where the reader has gone.
    pub fn show(&mut self, sheet: &Sheet) -> Result<(), ClientError> {
        let text: String = sheet.lines().iter().map(|line| format!("{}\n", self.painted(line))).collect();
        self.write_out(&text)
    }

    /// Writes data to stdout as it is.
    ///
    /// # Errors
    /// [`ClientError::PipeClosed`] where the reader has gone.
    pub fn write_out(&mut self, text: &str) -> Result<(), ClientError> {
        self.stdout.write_all(text.as_bytes()).and_then(|()| self.stdout.flush()).map_err(ClientError::output)
    }

    /// A JSON value on stdout, one document with a line end.
    ///
    /// # Errors
    /// [`ClientError::PipeClosed`] where the reader has gone.
    pub fn json<T: serde::Serialize>(&mut self, value: &T) -> Result<(), ClientError> {
        let shape = |cause: serde_json::Error| ClientError::Shape { cause: cause.to_string() };
        let compact = serde_json::to_string(value).map_err(shape)?;
        // What nobody reads by eye stays on one line: all results of a platform are tens of megabytes.
        let text =
            if compact.len() > PRETTY_MAX { compact } else { serde_json::to_string_pretty(value).map_err(shape)? };
        self.write_out(&format!("{text}\n"))
    }

    /// A note on stderr: progress, what was kept where. A lost note is no failure.
    pub fn note(&mut self, text: &str) {
        let mut sheet = self.sheet();
        sheet.paragraph(text);
        let _ = self.stderr.write_all(sheet.to_string().as_bytes());
        let _ = self.stderr.flush();
    }

    /// Asks for one line; the question goes to stderr so that stdout stays data. `None` at the end of the input.
    ///
    /// # Errors
    /// [`ClientError::Folder`] where the input can't be read.
    pub fn ask(&mut self, question: &str) -> Result<Option<String>, ClientError> {
        let _ = write!(self.stderr, "{question} ");
        let _ = self.stderr.flush();
        let mut line = String::new();
        let read = self.stdin.read_line(&mut line).map_err(|source| ClientError::Folder { what: "input", source })?;
        // Where nobody types, nothing has echoed the answer.
        if !self.asks {
            let _ = writeln!(self.stderr, "{}", line.trim());
        }
        Ok((read > 0).then(|| line.trim().to_owned()))
    }

    fn painted(&self, line: &str) -> String {
        // Words carry the meaning; colour only repeats it.
        const PAINT: [(&str, &str); 6] = [
            ("Falls short.", "\u{1b}[1;31m"),
            ("Can't be computed.", "\u{1b}[1;31m"),
            ("Holds, but only just.", "\u{1b}[1;33m"),
            ("Part of it can't be computed.", "\u{1b}[1;31m"),
            ("Holds.", "\u{1b}[1;32m"),
            ("Not checked:", "\u{1b}[1m"),
        ];
        let found = PAINT.iter().find(|(words, _)| self.colour && line.starts_with(words));
        found.map_or_else(
            || line.to_owned(),
            |(words, paint)| format!("{paint}{words}\u{1b}[0m{}", line.strip_prefix(words).unwrap_or_default()),
        )
    }
}

fn config_dir_of_process() -> Result<PathBuf, ClientError> {
    let named = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    named(CONFIG_DIR)
        .or_else(|| named("XDG_CONFIG_HOME").filter(|path| path.is_absolute()).map(|path| path.join("batten")))
        .or_else(|| named("HOME").map(|home| home.join(".config").join("batten")))
        .ok_or_else(|| ClientError::Usage {
            message: "there is no place for accounts: neither HOME nor XDG_CONFIG_HOME is set".into(),
            hint: Some(format!("set {CONFIG_DIR} to a folder of your own")),
        })
}
