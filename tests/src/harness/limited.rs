//! A child process that may use only so much memory and time.

use std::ffi::OsStr;
use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// How such a process ended.
#[derive(Debug)]
pub struct Limited {
    /// Exit code; `None` where it was ended by a signal (out of memory, out of time).
    pub exit: Option<i32>,
    /// Everything it said, standard output first.
    pub said: String,
    /// How long it took.
    pub time: Duration,
}

/// A command under a memory limit, kB of what the process may write to (its data segment by the kernel's count).
///
/// The limit on addresses would not do: allocators and thread stacks reserve far more than they use.
pub fn limited_command(program: impl AsRef<OsStr>, memory_kb: u64) -> Command {
    let mut command = Command::new("sh");
    command.arg("-c").arg(format!("ulimit -d {memory_kb} && exec \"$@\"")).arg("sh").arg(program);
    command
}

impl Limited {
    /// Runs a program to its end, or ends it when its time is over.
    ///
    /// # Panics
    /// Where the process can't be started.
    #[allow(clippy::expect_used, reason = "without the process there is no test")]
    pub fn run(
        program: impl AsRef<OsStr>,
        arguments: &[&str],
        environment: &[(&str, &Path)],
        memory_kb: u64,
        time: Duration,
    ) -> Self {
        let mut command = limited_command(program, memory_kb);
        command.args(arguments).envs(environment.iter().copied());
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let started = Instant::now();
        let mut child = command.spawn().expect("a child process");
        let stdout = collect(child.stdout.take());
        let stderr = collect(child.stderr.take());
        let exit = wait(&mut child, started + time);
        let time = started.elapsed();
        let said = [stdout, stderr].map(|thread| thread.join().unwrap_or_default()).concat();
        Self { exit, said, time }
    }
}

/// Waits until a process ends; ends it at the deadline. Gives its exit code, `None` for a signal.
pub fn wait(child: &mut Child, deadline: Instant) -> Option<i32> {
    loop {
        match child.try_wait() {
            Ok(Some(status)) => return status.code(),
            Ok(None) if Instant::now() < deadline => std::thread::sleep(Duration::from_millis(2)),
            _ => {
                let _ = child.kill();
                let _ = child.wait();
                return None;
            }
        }
    }
}

fn collect(pipe: Option<impl Read + Send + 'static>) -> std::thread::JoinHandle<String> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        if let Some(mut pipe) = pipe {
            let _ = pipe.read_to_end(&mut bytes);
        }
        String::from_utf8_lossy(&bytes).into_owned()
    })
}
