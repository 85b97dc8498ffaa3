//! A running program: its streams read aside, so that neither silence nor a flood can block us; ended with all that
//! it started.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use super::protocol::{Fault, short};

/// Most bytes of an answer.
pub const MOST_OUTPUT: usize = 1 << 20;

/// Bytes kept of what the program complains of, from the end.
const COMPLAINTS: usize = 4096;

/// How often a silent program is looked after.
const LOOK: Duration = Duration::from_millis(20);

/// How long a program that is to end by itself may take.
const PATIENCE: Duration = Duration::from_millis(500);

/// Process groups of our programs that run.
static LIVE: Mutex<BTreeSet<u32>> = Mutex::new(BTreeSet::new());

/// Ends every program that runs, with all that it started: for a caller about to exit.
pub fn end_all() {
    for id in live().iter() {
        end_group(*id);
    }
}

fn live() -> MutexGuard<'static, BTreeSet<u32>> {
    LIVE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What came out of a program.
enum Piece {
    Line(Vec<u8>),
    TooMuch,
}

/// A program that runs.
pub struct Running {
    child: Child,
    input: Option<ChildStdin>,
    output: Receiver<Piece>,
    complaints: Arc<Mutex<Vec<u8>>>,
    complained: Receiver<()>,
}

impl Running {
    /// Starts a program in a folder, in a process group of its own, without a shell.
    ///
    /// # Errors
    /// That it can't be started.
    pub fn start(command: &[String], folder: &Path) -> Result<Running, Fault> {
        let Some((program, arguments)) = command.split_first() else {
            return Err(Fault::broke("the command is empty"));
        };
        let mut call = Command::new(located(program, folder));
        call.args(arguments)
            .current_dir(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut call, 0);
        let refused = |error| Fault::broke(format!("`{program}` could not be started: {error}"));
        let mut child = call.spawn().map_err(refused)?;
        live().insert(child.id());
        let (lines, output) = sync_channel(64);
        let (ended, complained) = channel();
        let complaints = Arc::new(Mutex::new(Vec::new()));
        let (stdout, stderr) = (child.stdout.take(), child.stderr.take());
        let kept = Arc::clone(&complaints);
        let running = Running {
            input: child.stdin.take(),
            child,
            output,
            complaints,
            complained,
        };
        let listen = |aside: Box<dyn FnOnce() + Send>| {
            let heard = thread::Builder::new().spawn(aside);
            heard.map_err(|error| Fault::broke(format!("`{program}` could not be heard: {error}")))
        };
        if let Some(stream) = stdout {
            listen(Box::new(move || pass_on(stream, &lines)))?;
        }
        if let Some(stream) = stderr {
            listen(Box::new(move || {
                keep_end(stream, &kept);
                let _ = ended.send(());
            }))?;
        }
        Ok(running)
    }

    /// Writes a question. A program that reads none of it is judged by its answer.
    pub fn write(&mut self, text: &str) {
        if let Some(input) = &mut self.input {
            let _ = input
                .write_all(text.as_bytes())
                .and_then(|()| input.flush());
        }
    }

    /// Tells the program that no more is asked.
    pub fn close(&mut self) {
        self.input = None;
    }

    /// Whether something has come out that nobody asked for.
    pub fn is_ahead(&self) -> bool {
        self.output.try_recv().is_ok()
    }

    /// The next line that comes out, until a deadline `limit` after `begun`.
    ///
    /// # Errors
    /// That it takes too long, says too much or ends.
    pub fn line(&mut self, begun: Instant, limit: Duration) -> Result<Vec<u8>, Fault> {
        match self.next(begun, limit)? {
            Some(line) => Ok(line),
            None => Err(self
                .ended(begun, limit)?
                .unwrap_or_else(|| Fault::broke("it ended in place of answering, with status 0"))),
        }
    }

    /// All that comes out until the program ends, well or not.
    ///
    /// # Errors
    /// That it takes too long, says too much or ends badly.
    pub fn all(&mut self, begun: Instant, limit: Duration) -> Result<Vec<u8>, Fault> {
        let mut all = Vec::new();
        while let Some(line) = self.next(begun, limit)? {
            all.extend(line);
            if all.len() > MOST_OUTPUT {
                return Err(too_much());
            }
        }
        match self.ended(begun, limit)? {
            Some(fault) => Err(fault),
            None => Ok(all),
        }
    }

    /// The next line; `None` at the end.
    fn next(&mut self, begun: Instant, limit: Duration) -> Result<Option<Vec<u8>>, Fault> {
        let mut alone: Option<Instant> = None;
        loop {
            let left = limit.saturating_sub(begun.elapsed());
            match self.output.recv_timeout(left.min(LOOK)) {
                Ok(Piece::Line(line)) => return Ok(Some(line)),
                Ok(Piece::TooMuch) => return Err(too_much()),
                Err(RecvTimeoutError::Disconnected) => return Ok(None),
                Err(RecvTimeoutError::Timeout) if left.is_zero() => return Err(too_long(limit)),
                // Something that it started may hold its output open for ever, even out of reach.
                Err(RecvTimeoutError::Timeout) => match alone {
                    Some(since) if since.elapsed() > PATIENCE => return Ok(None),
                    Some(_) => {}
                    None if self.has_ended() => {
                        end_group(self.child.id());
                        alone = Some(Instant::now());
                    }
                    None => {}
                },
            }
        }
    }

    /// Waits for the end; how it was bad, if it was.
    fn ended(&mut self, begun: Instant, limit: Duration) -> Result<Option<Fault>, Fault> {
        if !self.wait_until(|| begun.elapsed() >= limit) {
            return Err(too_long(limit));
        }
        end_group(self.child.id());
        let status = self.child.wait();
        live().remove(&self.child.id());
        let how = match status {
            Ok(status) if status.success() => return Ok(None),
            Ok(status) => match (status.code(), signal(status)) {
                (Some(code), _) => format!("it ended with status {code}"),
                (None, Some(signal)) => format!("signal {signal} ended it"),
                (None, None) => "it was ended".into(),
            },
            Err(error) => format!("its end could not be seen: {error}"),
        };
        Ok(Some(Fault::broke(match self.complaint() {
            Some(complaint) => format!("{how}: {complaint}"),
            None => how,
        })))
    }

    /// Waits for the end; `false` where it did not come in time.
    fn wait_until(&mut self, late: impl Fn() -> bool) -> bool {
        let mut pause = Duration::from_micros(50);
        loop {
            if self.has_ended() {
                return true;
            }
            if late() {
                return false;
            }
            thread::sleep(pause);
            pause = (2 * pause).min(Duration::from_millis(10));
        }
    }

    /// The last line of what it complains of.
    fn complaint(&self) -> Option<String> {
        let _ = self.complained.recv_timeout(PATIENCE);
        let complaints = self
            .complaints
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        let text = String::from_utf8_lossy(&complaints);
        let last = text
            .lines()
            .rev()
            .map(str::trim)
            .find(|line| !line.is_empty());
        last.map(short)
    }

    /// Whether it has ended. Its number stays taken until it is waited for, so that its group can be ended safely.
    #[cfg(unix)]
    fn has_ended(&mut self) -> bool {
        use rustix::process::{Pid, WaitId, WaitIdOptions, waitid};
        let options = WaitIdOptions::EXITED | WaitIdOptions::NOHANG | WaitIdOptions::NOWAIT;
        !matches!(
            waitid(WaitId::Pid(Pid::from_child(&self.child)), options),
            Ok(None)
        )
    }

    #[cfg(not(unix))]
    fn has_ended(&mut self) -> bool {
        !matches!(self.child.try_wait(), Ok(None))
    }

    /// Lets a program that has no more questions to answer end by itself, for a moment.
    pub fn dismiss(mut self) {
        self.close();
        let begun = Instant::now();
        self.wait_until(|| begun.elapsed() >= PATIENCE);
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.input = None;
        if live().remove(&self.child.id()) {
            end_group(self.child.id());
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}

fn too_long(limit: Duration) -> Fault {
    Fault::broke(format!("it took longer than {} s", limit.as_secs_f64()))
}

fn too_much() -> Fault {
    Fault::broke("it answers with more than 1 MiB")
}

/// A program given by a path beside the study is looked for there, not where we were started.
fn located(program: &str, folder: &Path) -> std::path::PathBuf {
    let path = Path::new(program);
    match path.components().count() {
        0 | 1 if !program.starts_with('.') => path.to_path_buf(),
        _ => std::path::absolute(folder)
            .unwrap_or(folder.to_path_buf())
            .join(path),
    }
}

/// Hands on what comes out, line by line, until it ends, is too much or nobody listens.
fn pass_on(stream: impl Read, lines: &SyncSender<Piece>) {
    let mut stream = BufReader::new(stream);
    loop {
        let mut line = Vec::new();
        let most = MOST_OUTPUT as u64 + 1;
        match stream.by_ref().take(most).read_until(b'\n', &mut line) {
            Ok(0) | Err(_) => return,
            Ok(length) if length > MOST_OUTPUT => {
                let _ = lines.send(Piece::TooMuch);
                return;
            }
            Ok(_) => {}
        }
        if lines.send(Piece::Line(line)).is_err() {
            return;
        }
    }
}

/// Keeps the end of what comes out.
fn keep_end(mut stream: impl Read, kept: &Mutex<Vec<u8>>) {
    let mut buffer = [0; 4096];
    while let Ok(length @ 1..) = stream.read(&mut buffer) {
        let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.extend_from_slice(&buffer[..length]);
        let surplus = kept.len().saturating_sub(COMPLAINTS);
        kept.drain(..surplus);
    }
}

#[cfg(unix)]
fn signal(status: std::process::ExitStatus) -> Option<i32> {
    std::os::unix::process::ExitStatusExt::signal(&status)
}

#[cfg(not(unix))]
fn signal(_: std::process::ExitStatus) -> Option<i32> {
    None
}

/// Ends a process group that a program of ours leads.
#[cfg(unix)]
fn end_group(id: u32) {
    use rustix::process::{Pid, Signal, kill_process_group};
    // 0 and 1 would mean others than the program.
    let pid = i32::try_from(id)
        .ok()
        .filter(|id| *id > 1)
        .and_then(Pid::from_raw);
    if let Some(pid) = pid {
        let _ = kill_process_group(pid, Signal::KILL);
    }
}

#[cfg(not(unix))]
fn end_group(_: u32) {}
