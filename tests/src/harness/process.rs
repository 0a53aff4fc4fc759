//! The server as a process of its own, to be killed and limited.

use super::{Database, limited_command};
use std::ffi::OsStr;
use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};
use tonic::transport::{Channel, Endpoint};

/// How long a server may take to open its port: it is far less, but the tests share their cores.
const START_TIME: Duration = Duration::from_secs(30);

/// A running server process; ended when dropped.
pub struct ServerProcess {
    child: Child,
    address: String,
    said: String,
}

impl ServerProcess {
    /// Starts the server on a free port, on this database.
    ///
    /// # Panics
    /// Where it does not say within half a minute which address it listens on.
    pub fn start(program: impl AsRef<OsStr>, database: &Database) -> Self {
        Self::spawn(Command::new(program), database)
    }

    /// The same at an address where a server was before, so that who remembers it finds it there.
    ///
    /// # Panics
    /// As [`Self::start`].
    pub fn start_at(program: impl AsRef<OsStr>, database: &Database, address: &str) -> Self {
        Self::spawn_at(Command::new(program), database, address, &[])
    }

    /// Starts the server at an address of its own, with further flags.
    ///
    /// # Panics
    /// As [`Self::start`].
    pub fn start_with(program: impl AsRef<OsStr>, database: &Database, listen: &str, flags: &[&str]) -> Self {
        Self::spawn_at(Command::new(program), database, listen, flags)
    }

    /// The same with at most so much memory, kB.
    ///
    /// # Panics
    /// As [`Self::start`].
    pub fn start_limited(program: impl AsRef<OsStr>, database: &Database, memory_kb: u64) -> Self {
        Self::spawn(limited_command(program, memory_kb), database)
    }

    /// The same where no file may grow past so many kB, until [`Self::lets_files_grow`].
    ///
    /// # Panics
    /// As [`Self::start`].
    pub fn start_in_small_files(program: impl AsRef<OsStr>, database: &Database, file_kb: u64) -> Self {
        let mut command = Command::new("sh");
        // The limit counts blocks of 512 bytes. Over it the kernel sends a signal that would end the process; ignored,
        // the write fails as on a full disk.
        let script = format!("trap '' XFSZ && ulimit -S -f {} && exec \"$@\"", 2 * file_kb);
        command.arg("-c").arg(script).arg("sh").arg(program);
        Self::spawn(command, database)
    }

    /// Takes the limit of [`Self::start_in_small_files`] away from the running process.
    ///
    /// # Panics
    /// Where that is not possible.
    #[allow(clippy::expect_used, reason = "a failed step is a failed test")]
    pub fn lets_files_grow(&self) {
        let pid = self.child.id().to_string();
        let done = Command::new("prlimit").args(["--pid", &pid, "--fsize=unlimited"]).status().expect("prlimit");
        assert!(done.success(), "prlimit: {done}");
    }

    fn spawn(command: Command, database: &Database) -> Self {
        Self::spawn_at(command, database, "127.0.0.1:0", &[])
    }

    #[allow(clippy::panic, clippy::expect_used, reason = "without a server there is no test")]
    fn spawn_at(mut command: Command, database: &Database, listen: &str, flags: &[&str]) -> Self {
        command.arg("serve").arg("--data-folder").arg(database.folder()).args(["--listen", listen]).args(flags);
        if let Some(url) = database.url() {
            // The address holds a password: never an argument, which others can see.
            command.env("BATTENBOARD_DATABASE", url);
        }
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("a server process");
        let (lines, said) = mpsc::channel();
        forward(child.stdout.take(), lines.clone());
        forward(child.stderr.take(), lines);
        let deadline = Instant::now() + START_TIME;
        let mut heard = String::new();
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            match said.recv_timeout(left) {
                Ok(line) => {
                    heard.push_str(&line);
                    heard.push('\n');
                    if let Some(address) = address_in(&line) {
                        return Self { child, address, said: heard };
                    }
                }
                Err(_) => {
                    let _ = child.kill();
                    let _ = child.wait();
                    panic!("the server named no address:\n{heard}");
                }
            }
        }
    }

    /// Resident memory now, kB, by the kernel's count; `None` where it does not tell.
    pub fn resident_kb(&self) -> Option<u64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
        line.trim().trim_end_matches("kB").trim().parse().ok()
    }

    /// What it said until its address was known.
    pub fn said(&self) -> &str {
        &self.said
    }

    /// The line that begins so, of those it said until its address was known.
    pub fn line_with(&self, start: &str) -> Option<String> {
        self.said.lines().find(|line| line.starts_with(start)).map(str::to_owned)
    }

    /// Host and port.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// With `http://` before it.
    pub fn address_with_scheme(&self) -> String {
        format!("http://{}", self.address)
    }

    /// A way to it.
    ///
    /// # Panics
    /// Where it can't be reached.
    #[allow(clippy::expect_used, reason = "without a server there is no test")]
    pub async fn channel(&self) -> Channel {
        let endpoint = Endpoint::from_shared(self.address_with_scheme()).expect("an address");
        endpoint.connect_timeout(START_TIME).connect().await.expect("a way to the server")
    }

    /// Ends it as a power cut would: nothing of it gets to run again.
    pub fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Stops it where it stands: it keeps what it holds and does nothing any more, until it is killed.
    ///
    /// # Panics
    /// Where that is not possible.
    #[allow(clippy::expect_used, reason = "a failed step is a failed test")]
    pub fn freeze(&self) {
        let pid = self.child.id().to_string();
        let done = Command::new("kill").args(["-STOP", &pid]).status().expect("kill");
        assert!(done.success(), "kill: {done}");
    }

    /// Asks it to stop and waits; `None` where it did not in this time.
    pub fn stop(&mut self, time: Duration) -> Option<ExitStatus> {
        // The standard library sends no signal but SIGKILL.
        let asked = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status();
        asked.ok().filter(ExitStatus::success)?;
        let deadline = Instant::now() + time;
        while Instant::now() < deadline {
            if let Ok(Some(status)) = self.child.try_wait() {
                return Some(status);
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        None
    }
}

impl Drop for ServerProcess {
    fn drop(&mut self) {
        self.kill();
    }
}

/// Sends each line on until the pipe ends; the pipe is read to its end so that the server never waits for us.
fn forward(pipe: Option<impl Read + Send + 'static>, lines: mpsc::Sender<String>) {
    std::thread::spawn(move || {
        for line in pipe.map(BufReader::new).into_iter().flat_map(BufRead::lines).map_while(Result::ok) {
            let _ = lines.send(line);
        }
    });
}

/// Host and port in the line in which a server says where it listens, `Listening on 127.0.0.1:7170`, or in its joining
/// line; other lines name other servers.
fn address_in(line: &str) -> Option<String> {
    if !["Listening on ", "batten join "].iter().any(|start| line.starts_with(start)) {
        return None;
    }
    let (_, rest) = line.split_once("127.0.0.1:")?;
    let port: String = rest.chars().take_while(char::is_ascii_digit).collect();
    (!port.is_empty() && port != "0").then(|| format!("127.0.0.1:{port}"))
}
