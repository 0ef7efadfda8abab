//! The program killed at any moment: every confirmed edit is there, no file is half written.
//!
//! A child process (this binary again, running [`scripted_editor`] alone) opens a song and works through a script; it
//! reports a step only after the step has returned. The parent kills it, knows the script too, and compares what lies
//! on the disk with a [`Model`] that shares no code with the store or with `song::apply`: it assigns to the fields of a
//! song and remembers whole songs for undo.

#![cfg(unix)]

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Lines, Write};
use std::os::unix::process::ExitStatusExt;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::{Path, PathBuf};
use std::process::{ChildStdout, Command, Stdio};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use undersong::song::{Annotation, Cell, Edit, Line, LineAt, LinePart, Section, Song, Word, WordAt};
use undersong::store::{Notice, SongFile, backup_path, read_song, song_to_yaml};

const FOLDER: &str = "UNDERSONG_TEST_KILLS_FOLDER";
const SCRIPT: &str = "UNDERSONG_TEST_KILLS_SCRIPT";
const SEED: &str = "UNDERSONG_TEST_KILLS_SEED";

/// Stands at the head of the file and must still stand there in the end.
const HEAD: &str = "# Marked up at the piano.\n";
/// The number of the signal on every Unix (POSIX.1-2024, `kill`, XSI).
const SIGKILL: i32 = 9;

const N_LINES: usize = 6;
const N_WORDS: usize = 4;

// -------------------------------------------------------------------------------------------------------- random kills

#[test]
fn five_hundred_random_kills_lose_no_confirmed_edit() {
    const N_WORKERS: u64 = 4;
    const N_KILLS: usize = 125;
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_nanos() as u64;
    let seed = std::env::var(SEED).ok().and_then(|s| s.parse().ok()).unwrap_or(now);
    eprintln!("kills: the seed is {seed}; {SEED}={seed} makes the same scripts and kills at about the same moments");
    let tallies: Vec<Tally> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..N_WORKERS)
            .map(|worker| scope.spawn(move || kill_in_turn(Random(seed.wrapping_add(worker)), N_KILLS)))
            .collect();
        workers.into_iter().map(|worker| worker.join().unwrap_or_else(|cause| resume_unwind(cause))).collect()
    });
    let sum = |part: fn(&Tally) -> usize| tallies.iter().map(part).sum::<usize>();
    let (n_kills, n_confirmed, n_recovered) =
        (sum(|t| t.n_kills), sum(|t| t.n_confirmed), sum(|t| t.n_recovered_edits));
    eprintln!(
        "kills: {n_kills} kills, {} before the song was open, {n_confirmed} confirmed steps, {} kills with something \
         to recover, {n_recovered} edits recovered, {} steps on the disk but not yet confirmed",
        sum(|t| t.n_early),
        sum(|t| t.n_with_journal),
        sum(|t| t.n_unconfirmed),
    );
    let troubles: Vec<String> = tallies.iter().flat_map(|t| t.troubles.clone()).collect();
    assert!(troubles.is_empty(), "{} of {n_kills} kills did harm:\n{}", troubles.len(), troubles.concat());
    assert_eq!(n_kills, 500);
    // Kills that hit nothing would prove nothing.
    assert!(n_confirmed > 500 && n_recovered > 100, "the kills came too early to tell anything");
}

#[derive(Default)]
struct Tally {
    n_kills: usize,
    n_early: usize,
    n_confirmed: usize,
    n_with_journal: usize,
    n_recovered_edits: usize,
    n_unconfirmed: usize,
    troubles: Vec<String>,
}

/// One child after the other on the same song, each killed at a random moment. After a trouble the next child gets a
/// fresh song.
fn kill_in_turn(mut random: Random, n_kills: usize) -> Tally {
    let mut tally = Tally::default();
    let (mut desk, mut model) = (Desk::new(), Model::at(first_song()));
    for _ in 0..n_kills {
        let script = format!("random {}", random.next());
        let report = run_and_kill(&desk, &script, Moment::at_random(&mut random));
        // Now and then the next child has to recover what this one left, and may be killed over that.
        let is_left = random.below(4) == 0;
        let checked = caught(|| {
            let found = desk.check_after(&model, &script, &report);
            let next = if is_left { found.clone() } else { desk.check_recovery(&found) };
            (found, next)
        });
        tally.n_kills += 1;
        tally.n_early += usize::from(!report.is_open);
        tally.n_confirmed += report.n_confirmed;
        match checked {
            Ok((found, next)) => {
                tally.n_with_journal += usize::from(found.n_unsaved > 0);
                tally.n_recovered_edits += found.n_unsaved;
                tally.n_unconfirmed += usize::from(found.n_steps > report.n_confirmed);
                model = next;
            }
            Err(message) => {
                tally.troubles.push(format!("after kill {} of this worker: {message}\n", tally.n_kills));
                (desk, model) = (Desk::new(), Model::at(first_song()));
            }
        }
    }
    tally
}

/// Runs a check to the end or to its failing assertion, so that one trouble does not hide the others.
fn caught<T>(check: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(check)).map_err(|cause| match cause.downcast::<String>() {
        Ok(message) => *message,
        Err(cause) => cause.downcast_ref::<&str>().unwrap_or(&"a panic without words").to_string(),
    })
}

/// After what, and how long after it, a child is killed.
enum Moment {
    Started(Duration),
    Opened(Duration),
    Confirmed(usize, Duration),
}

impl Moment {
    fn at_random(random: &mut Random) -> Moment {
        let mut micros = |most| Duration::from_micros(random.below(most));
        let (long, short) = (micros(25_000), micros(1_500));
        match random.below(4) {
            0 => Moment::Started(long),
            1 => Moment::Opened(long),
            _ => Moment::Confirmed(1 + random.below(30) as usize, short),
        }
    }
}

fn run_and_kill(desk: &Desk, script: &str, moment: Moment) -> Report {
    let mut child = editor(desk.path(), script).spawn().unwrap();
    let mut report = Report::default();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let delay = match moment {
        Moment::Started(delay) => delay,
        Moment::Opened(delay) => {
            report.read_while(&mut lines, |report| !report.is_open);
            delay
        }
        Moment::Confirmed(n, delay) => {
            report.read_while(&mut lines, |report| report.n_confirmed < n);
            delay
        }
    };
    std::thread::sleep(delay);
    child.kill().unwrap();
    let status = child.wait().unwrap();
    report.read_while(&mut lines, |_| true);
    let has_run_till_killed = status.signal() == Some(SIGKILL) && report.failed.is_empty();
    assert!(has_run_till_killed, "the child met a trouble of its own: {status}, {report:?}");
    report
}

// --------------------------------------------------------------------------------------------------- every system call

/// The system calls by which a file or a folder changes, and those around them.
const CALLS: [&str; 16] = [
    "openat",
    "write",
    "fsync",
    "fdatasync",
    "rename",
    "renameat",
    "renameat2",
    "linkat",
    "link",
    "unlink",
    "unlinkat",
    "fchmod",
    "close",
    "ftruncate",
    "copy_file_range",
    "sendfile",
];

#[test]
fn a_save_killed_at_any_system_call_loses_nothing() {
    let Some(tracer) = Tracer::find() else { return };
    let swept = tracer.strike_every_call(Blow::Kill, "save", &|_| (), &|desk, report| {
        let found = desk.check_after(&Model::at(first_song()), "save", report);
        desk.check_recovery(&found);
    });
    swept.must_be_safe("two edits and a save");
}

#[test]
fn a_save_whose_system_calls_fail_once_loses_nothing() {
    let Some(tracer) = Tracer::find() else { return };
    let swept = tracer.strike_every_call(Blow::Fail, "save", &|_| (), &|desk, report| {
        assert!(report.failed.len() <= 1, "a step could not be repeated after one failure");
        let found = desk.check_after(&Model::at(first_song()), "save", report);
        desk.check_recovery(&found);
    });
    swept.must_be_safe("two edits and a save");
}

#[test]
fn a_recovery_killed_at_any_system_call_can_be_repeated() {
    check_recovery_at_every_call("a recovery", b"");
}

#[test]
fn a_recovery_after_a_torn_line_killed_at_any_system_call_can_be_repeated() {
    // The session before was killed while it wrote an edit, which it never confirmed.
    check_recovery_at_every_call("a recovery after a torn line", br#"{"edit":{"set-line-te"#);
}

fn check_recovery_at_every_call(what: &str, torn_line: &[u8]) {
    let Some(tracer) = Tracer::find() else { return };
    let model = Model::at(first_song()).after("save", 2);
    let prepare = |desk: &Desk| {
        desk.leave_a_journal();
        fs::File::options().append(true).open(desk.journal()).unwrap().write_all(torn_line).unwrap();
    };
    let swept = tracer.strike_every_call(Blow::Kill, "open", &prepare, &|desk, report| {
        let found = desk.check_after(&model, "open", report);
        desk.check_recovery(&found);
    });
    swept.must_be_safe(what);
}

#[test]
fn keeping_two_versions_killed_at_any_system_call_keeps_both() {
    let Some(tracer) = Tracer::find() else { return };
    let mine = Model::at(first_song()).after("save", 2).song;
    let mut theirs = first_song();
    theirs.details.title = "Changed elsewhere".into();
    let prepare = |desk: &Desk| {
        desk.leave_a_journal();
        fs::write(desk.song(), file_of(&theirs)).unwrap();
    };
    let swept = tracer.strike_every_call(Blow::Kill, "open", &prepare, &|desk, _| {
        assert_eq!(fs::read_to_string(desk.song()).unwrap(), file_of(&theirs));
        drop(SongFile::open(&desk.song()).unwrap());
        assert_eq!(fs::read_to_string(desk.song()).unwrap(), file_of(&theirs));
        let mut names = desk.names();
        assert!(names.remove("song.yaml"));
        // Killed between the copy and the end of the journal, the next start makes a second copy: that loses nothing.
        let is_copy = |name: &String| name.starts_with("song") && name.ends_with(".recovered.yaml");
        let (copies, others): (BTreeSet<String>, BTreeSet<String>) = names.into_iter().partition(is_copy);
        let is_second = |name: &&String| !["song.recovered.yaml", "song-2.recovered.yaml"].contains(&name.as_str());
        assert_eq!(copies.iter().find(is_second), None);
        assert!(copies.contains("song.recovered.yaml"), "the unsaved work is gone");
        for copy in &copies {
            assert_eq!(fs::read_to_string(desk.path().join(copy)).unwrap(), file_of(&mine), "{copy}");
        }
        assert_eq!(others, BTreeSet::new(), "leftovers");
    });
    swept.must_be_safe("keeping two versions");
}

#[test]
fn keeping_a_damaged_journal_killed_at_any_system_call_keeps_it() {
    let Some(tracer) = Tracer::find() else { return };
    let damaged = {
        let desk = Desk::new();
        desk.leave_a_journal();
        let mut journal = fs::read(desk.journal()).unwrap();
        // The second edit begins after the second line feed.
        let second = journal.iter().enumerate().filter(|(_, b)| **b == b'\n').nth(1).unwrap().0 + 1;
        journal[second + 2] = b'#';
        journal
    };
    let one_edit = Model::at(first_song()).after("save", 1).song;
    let prepare = |desk: &Desk| fs::write(desk.journal(), &damaged).unwrap();
    let swept = tracer.strike_every_call(Blow::Kill, "open", &prepare, &|desk, _| {
        let (file, _) = SongFile::open(&desk.song()).unwrap();
        assert_eq!(file.song(), &one_edit, "the edit before the damage");
        drop(file);
        let copies = desk.names().into_iter().filter(|name| name.ends_with(".journal") && !name.starts_with('.'));
        let copies: Vec<Vec<u8>> = copies.map(|name| fs::read(desk.path().join(name)).unwrap()).collect();
        assert!(copies.contains(&damaged), "the damaged journal is gone");
        assert!(!desk.journal().exists());
    });
    swept.must_be_safe("keeping a damaged journal");
}

/// What happens to a child at a system call.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Blow {
    /// It is killed on entering the call, which is then not carried out. `strace` delivers a signal at the entry only;
    /// but files change only in system calls, so that for the disk the entry of one call is the exit of the call before
    /// it.
    Kill,
    /// The call is not carried out and says that the disk is full.
    Fail,
}

/// The outcome of striking at every system call.
struct Swept {
    blow: Blow,
    n_struck: usize,
    failures: Vec<String>,
}

impl Swept {
    fn must_be_safe(&self, what: &str) {
        let Swept { blow, n_struck, failures } = self;
        eprintln!("kills: {blow:?} at {n_struck} system calls of {what}: {} unsafe", failures.len());
        assert!(failures.is_empty(), "{} of {n_struck} calls are not safe:\n{}", failures.len(), failures.concat());
    }
}

/// `strace`, which strikes a process at a chosen system call.
struct Tracer;

impl Tracer {
    fn find() -> Option<Tracer> {
        let mut probe = Command::new("strace");
        let status = probe.args(["-o", "/dev/null", "true"]).stdout(Stdio::null()).stderr(Stdio::null()).status();
        match status {
            Ok(status) if status.success() => Some(Tracer),
            Ok(status) => {
                eprintln!("skipped: strace may not trace here ({status}), and so no system call can be chosen");
                None
            }
            Err(error) => {
                eprintln!("skipped: strace cannot be run ({error}), and so no system call can be chosen");
                None
            }
        }
    }

    /// Strikes at the first, second … of each system call, until a child ends without having been struck; each child
    /// finds a desk of its own, prepared. Calls before the child has begun its work do not count.
    fn strike_every_call(
        &self,
        blow: Blow,
        script: &str,
        prepare: &(dyn Fn(&Desk) + Sync),
        check: &(dyn Fn(&Desk, &Report) + Sync),
    ) -> Swept {
        let at_call = |call: &str| {
            let (mut n_struck, mut failures) = (0, Vec::new());
            for nth in 1.. {
                assert!(nth < 500, "{call}: no end");
                let desk = Desk::new();
                prepare(&desk);
                let struck = self.strike(&desk, blow, call, nth, script);
                let is_at_work = match blow {
                    Blow::Kill => struck.report.is_begun,
                    Blow::Fail => calls_of_work(&struck.log).any(|call| call.contains(INJECTED)),
                };
                if is_at_work || !struck.is_struck {
                    n_struck += usize::from(struck.is_struck);
                    if let Err(message) = caught(|| check(&desk, &struck.report)) {
                        failures.push(format!("{blow:?} at {call} number {nth}: {message}\n  {:?}\n", struck.report));
                    }
                }
                if !struck.is_struck {
                    // A sweep that passes calls over would prove nothing.
                    let name = format!("{call}(");
                    let n_calls = calls_of_work(&struck.log).filter(|call| call.starts_with(&name)).count();
                    assert_eq!(n_struck, n_calls, "{call}: not every call was struck");
                    break;
                }
            }
            (n_struck, failures)
        };
        let results: Vec<(usize, Vec<String>)> = std::thread::scope(|scope| {
            let at_call = &at_call;
            let workers: Vec<_> = CALLS
                .chunks(CALLS.len().div_ceil(3))
                .map(|calls| scope.spawn(move || calls.iter().map(|call| at_call(call)).collect::<Vec<_>>()))
                .collect();
            workers.into_iter().flat_map(|worker| worker.join().unwrap_or_else(|cause| resume_unwind(cause))).collect()
        });
        let (counts, failures): (Vec<usize>, Vec<Vec<String>>) = results.into_iter().unzip();
        Swept { blow, n_struck: counts.iter().sum(), failures: failures.concat() }
    }

    fn strike(&self, desk: &Desk, blow: Blow, call: &str, nth: usize, script: &str) -> Struck {
        let what = match blow {
            Blow::Kill => "signal=SIGKILL",
            Blow::Fail => "error=ENOSPC",
        };
        let outside = tempfile::tempdir().unwrap();
        let log = outside.path().join("trace");
        let mut strace = Command::new("strace");
        strace.args(["-f", "-qq", "-o"]).arg(&log).args(["-e", &format!("trace={}", CALLS.join(","))]);
        strace.args(["-e", &format!("inject={call}:{what}:when={nth}")]).arg(this_program());
        let mut child = as_editor(strace, desk.path(), script).spawn().unwrap();
        let mut report = Report::default();
        report.read_while(&mut BufReader::new(child.stdout.take().unwrap()).lines(), |_| true);
        let status = child.wait().unwrap();
        let log = fs::read_to_string(&log).unwrap();
        let is_struck = match blow {
            Blow::Kill => status.signal() == Some(SIGKILL),
            Blow::Fail => log.contains(INJECTED),
        };
        assert!(is_struck || report.is_done, "the child ended too early: {report:?}");
        Struck { report, is_struck, log }
    }
}

/// A child that was struck, or ended before its turn came.
struct Struck {
    report: Report,
    is_struck: bool,
    /// A line a system call, with the thread at its beginning.
    log: String,
}

/// How `strace` marks a call that it has made fail.
const INJECTED: &str = "(INJECTED)";

/// The system calls that the thread made which reported `begun`, after that report.
fn calls_of_work(log: &str) -> impl Iterator<Item = &str> {
    let calls = log.lines().filter_map(|line| line.split_once(' ')).map(|(thread, call)| (thread, call.trim_start()));
    let mut calls = calls.skip_while(|(_, call)| !call.starts_with(r#"write(1, "\nbegun\n""#));
    let worker = calls.next().map(|(thread, _)| thread);
    calls.filter(move |(thread, _)| Some(*thread) == worker).map(|(_, call)| call)
}

// ----------------------------------------------------------------------------------------------------------- the child

/// The child. Without the variable that names its folder it has nothing to do.
#[test]
fn scripted_editor() {
    let (Ok(folder), Ok(script)) = (std::env::var(FOLDER), std::env::var(SCRIPT)) else { return };
    use_up_calls();
    report("begun");
    let (mut file, _) = SongFile::open(&Path::new(&folder).join("song.yaml")).unwrap();
    report("open");
    for (n, step) in steps_of(&script).enumerate() {
        // What failed because the disk was full for a moment must not fail for good.
        let mut attempts = 1..=3;
        while let Some(attempt) = attempts.next() {
            let before = file.song().clone();
            let Err(failure) = carry_out(&mut file, &step) else { break };
            assert_eq!(file.song(), &before, "a failed step has changed the song");
            report(&format!("failed {}, attempt {attempt}: {failure:?}", n + 1));
            if attempts.is_empty() {
                return;
            }
        }
        report(&format!("confirmed {}", n + 1));
    }
    report("done");
}

/// Makes the calls that the test runner's own thread has made too. The tracer counts each thread for itself and strikes
/// the first that reaches the number; so that the work of this thread is struck, its numbers must be higher than those
/// of the runner.
fn use_up_calls() {
    for _ in 0..24 {
        fs::write("/dev/null", "x").unwrap();
    }
}

fn carry_out(file: &mut SongFile, step: &Step) -> Result<(), undersong::store::Failure> {
    match step {
        Step::Translate(at, text) => {
            file.make(Edit::SetLineText { at: *at, part: LinePart::Translation, text: text.clone() }, None)
        }
        Step::Gloss(at, text) => {
            let cell = Cell::Settled(text.clone());
            file.make(Edit::SetCell { at: *at, row: Annotation::Gloss, cell }, Some(*at))
        }
        Step::Undo => file.undo().map(drop),
        Step::Redo => file.redo().map(drop),
        Step::Save => file.save(),
    }
}

/// A line of its own, at once; the test runner has the beginning of the line already.
fn report(line: &str) {
    let mut out = std::io::stdout().lock();
    out.write_all(format!("\n{line}\n").as_bytes()).unwrap();
    out.flush().unwrap();
}

/// What a child has reported.
#[derive(Debug, Default)]
struct Report {
    is_begun: bool,
    is_open: bool,
    n_confirmed: usize,
    is_done: bool,
    failed: Vec<String>,
}

impl Report {
    /// Reads on as long as there is something to read and `is_wanted` holds.
    fn read_while(&mut self, lines: &mut Lines<BufReader<ChildStdout>>, is_wanted: impl Fn(&Report) -> bool) {
        while is_wanted(self) {
            let Some(Ok(line)) = lines.next() else { return };
            match line.split_once(' ').unwrap_or((&line, "")) {
                ("begun", _) => self.is_begun = true,
                ("open", _) => self.is_open = true,
                ("done", _) => self.is_done = true,
                ("confirmed", n) => {
                    let n: usize = n.parse().unwrap();
                    assert_eq!(n, self.n_confirmed + 1);
                    self.n_confirmed = n;
                }
                ("failed", what) => self.failed.push(what.to_owned()),
                // The test runner's own lines.
                _ => {}
            }
        }
    }
}

/// The child, to be started; it knows nothing but its folder and its script.
fn editor(folder: &Path, script: &str) -> Command {
    as_editor(Command::new(this_program()), folder, script)
}

/// The file of this test program, even if a new build has taken its place meanwhile.
fn this_program() -> PathBuf {
    let running = PathBuf::from(format!("/proc/{}/exe", std::process::id()));
    if running.exists() { running } else { std::env::current_exe().unwrap() }
}

fn as_editor(mut command: Command, folder: &Path, script: &str) -> Command {
    command
        .args(["--exact", "kills::scripted_editor", "--nocapture", "--test-threads=1"])
        // The fewer variables, the fewer files the loader looks for before the work begins.
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env(FOLDER, folder)
        .env(SCRIPT, script)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    command
}

// ---------------------------------------------------------------------------------------------------- script and model

#[derive(Clone, Debug, PartialEq, Eq)]
enum Step {
    Translate(LineAt, String),
    Gloss(WordAt, String),
    Undo,
    Redo,
    Save,
}

/// The steps of a script: `open` only opens the song, `save` makes two edits and saves, `random SEED` goes on for long.
fn steps_of(script: &str) -> Box<dyn Iterator<Item = Step>> {
    let line = |n: usize| LineAt { section: n % 2, line: n / 2 % (N_LINES / 2) };
    let translate = move |n: usize, name: &str| Step::Translate(line(n), format!("edit {n}{name}"));
    let gloss = move |n: usize, name: &str| Step::Gloss(line(n).word(n % N_WORDS), format!("edit-{n}{name}"));
    match script.split_once(' ') {
        None if script == "open" => Box::new(std::iter::empty()),
        None if script == "save" => Box::new([translate(1, ""), gloss(2, ""), Step::Save].into_iter()),
        Some(("random", seed)) => {
            let (mut random, name) = (Random(seed.parse().unwrap()), format!(" of {seed}"));
            // Bounded, so that a child whose parent has died does not write for ever.
            Box::new((1..20_000).map(move |n| match random.below(20) {
                0..10 => translate(n, &name),
                10..14 => gloss(n, &name.replace(' ', "-")),
                14..16 => Step::Undo,
                16 => Step::Redo,
                _ => Step::Save,
            }))
        }
        _ => panic!("no script is called {script}"),
    }
}

/// What the song and its files must be.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Model {
    song: Song,
    /// The song as it stands in the file, and in the backup if there is one.
    saved: Song,
    backup: Option<Song>,
    earlier: Vec<Song>,
    later: Vec<Song>,
    /// How many edits only the journal holds.
    n_unsaved: usize,
    /// How many steps of the script have been taken.
    n_steps: usize,
}

impl Model {
    fn at(song: Song) -> Model {
        Model {
            saved: song.clone(),
            song,
            backup: None,
            earlier: Vec::new(),
            later: Vec::new(),
            n_unsaved: 0,
            n_steps: 0,
        }
    }

    fn take(&mut self, step: &Step) {
        self.n_steps += 1;
        let mut next = self.song.clone();
        match step {
            Step::Translate(at, text) => next.sections[at.section].lines[at.line].translation = text.clone(),
            Step::Gloss(at, text) => {
                next.sections[at.section].lines[at.line].words[at.word].gloss = Cell::Settled(text.clone());
            }
            Step::Undo => {
                let Some(earlier) = self.earlier.pop() else { return };
                self.later.push(std::mem::replace(&mut self.song, earlier));
                self.n_unsaved += 1;
                return;
            }
            Step::Redo => {
                let Some(later) = self.later.pop() else { return };
                self.earlier.push(std::mem::replace(&mut self.song, later));
                self.n_unsaved += 1;
                return;
            }
            Step::Save => return self.save(),
        }
        self.earlier.push(std::mem::replace(&mut self.song, next));
        self.later.clear();
        self.n_unsaved += 1;
    }

    fn save(&mut self) {
        if self.n_unsaved > 0 {
            self.backup = Some(std::mem::replace(&mut self.saved, self.song.clone()));
            self.n_unsaved = 0;
        }
    }

    /// The model after so many steps of a script.
    fn after(mut self, script: &str, n_steps: usize) -> Model {
        steps_of(script).take(n_steps).for_each(|step| self.take(&step));
        self
    }

    /// What opening the song makes of it: the edits of the journal are saved, and nothing can be taken back.
    fn recovered(&self) -> Model {
        let mut model = self.clone();
        model.save();
        Model { earlier: Vec::new(), later: Vec::new(), n_steps: 0, ..model }
    }

    /// What may be on the disk after a child has started here and reported so much: all that it confirmed, and what it
    /// was about to confirm.
    fn after_child(&self, script: &str, report: &Report) -> Vec<Model> {
        let opened = self.recovered();
        if report.is_open {
            (0..2).map(|more| opened.clone().after(script, report.n_confirmed + more)).collect()
        } else {
            vec![Model { n_steps: 0, ..self.clone() }, opened]
        }
    }
}

fn file_of(song: &Song) -> String {
    format!("{HEAD}{}", song_to_yaml(song))
}

/// Two stanzas of three lines; the words are our own.
fn first_song() -> Song {
    let line = || Line { words: ["Sale", "la", "luna", "lenta"].map(Word::new).into(), ..Line::default() };
    let section = || Section { lines: (0..N_LINES / 2).map(|_| line()).collect(), ..Section::default() };
    let mut song = Song { id: "luna".into(), sections: vec![section(), section()], ..Song::default() };
    song.details.title = "Luna".into();
    song.details.language = "it".into();
    song.details.gloss_language = "en".into();
    song
}

// ---------------------------------------------------------------------------------------------------------- the folder

/// A folder that holds one song and nothing else.
struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new() -> Desk {
        let desk = Desk { folder: tempfile::tempdir().unwrap() };
        fs::write(desk.song(), file_of(&first_song())).unwrap();
        desk
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn song(&self) -> PathBuf {
        self.path().join("song.yaml")
    }

    fn journal(&self) -> PathBuf {
        self.path().join(".song.yaml.journal")
    }

    fn names(&self) -> BTreeSet<String> {
        let entries = fs::read_dir(self.path()).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }

    /// Leaves the song as a session does that made the two edits of the script `save` and never saved.
    fn leave_a_journal(&self) {
        let (mut file, _) = SongFile::open(&self.song()).unwrap();
        steps_of("save").take(2).for_each(|step| carry_out(&mut file, &step).unwrap());
    }

    /// Compares what lies on the disk, before anybody opens the song, with what may lie there; returns what it is.
    fn check_after(&self, start: &Model, script: &str, report: &Report) -> Model {
        let candidates = start.after_child(script, report);
        let content = fs::read_to_string(self.song()).unwrap();
        let backup = fs::read_to_string(backup_path(&self.song())).ok();
        let (song, notices) = read_song(&self.song()).unwrap();
        let n_unsaved = match notices[..] {
            [] => 0,
            [Notice::Recovered(n)] => n,
            _ => panic!("unexpected notices: {notices:?}"),
        };
        let fits =
            |model: &&Model| (&model.song, model.n_unsaved) == (&song, n_unsaved) && file_of(&model.saved) == content;
        let Some(model) = candidates.iter().find(fits) else {
            let titles: Vec<String> =
                candidates.iter().map(|m| format!("{} unsaved: {:#?}", m.n_unsaved, texts(&m.song))).collect();
            panic!(
                "{} confirmed, {n_unsaved} to recover; found {:#?}\nexpected {}\nfile:\n{content}",
                report.n_confirmed,
                texts(&song),
                titles.join("\nor ")
            );
        };
        // In the middle of a save the backup is the former one or the file itself.
        let mut backups = candidates.iter().flat_map(|model| [model.backup.clone(), Some(model.saved.clone())]);
        let Some(backup) = backups.find(|song| song.as_ref().map(file_of) == backup) else {
            panic!("the backup is neither the former file nor the present one: {backup:?}");
        };
        let companions = ["song.yaml", ".song.yaml.lock", ".song.yaml.journal", ".song.yaml.backup"];
        let is_known = |name: &&String| companions.contains(&name.as_str()) || name.starts_with(".song.yaml.new-");
        let others: Vec<String> = self.names().iter().filter(|name| !is_known(name)).cloned().collect();
        assert!(others.is_empty(), "not the companions of the song: {others:?}");
        Model { backup, ..model.clone() }
    }

    /// Opens the song, which must bring back every edit, say so, and leave nothing but the file and its backup.
    fn check_recovery(&self, found: &Model) -> Model {
        let expected = found.recovered();
        let (file, notices) = SongFile::open(&self.song()).unwrap();
        let told: Vec<Notice> =
            (found.n_unsaved > 0).then_some(Notice::Recovered(found.n_unsaved)).into_iter().collect();
        assert_eq!(notices, told);
        assert_eq!(file.song(), &expected.song);
        assert!(!file.is_changed());
        drop(file);
        assert_eq!(fs::read_to_string(self.song()).unwrap(), file_of(&expected.saved));
        assert_eq!(fs::read_to_string(backup_path(&self.song())).ok(), expected.backup.as_ref().map(file_of));
        let mut names = BTreeSet::from(["song.yaml".to_owned()]);
        names.extend(expected.backup.is_some().then(|| ".song.yaml.backup".to_owned()));
        assert_eq!(self.names(), names, "leftovers");
        expected
    }
}

/// What the scripts change in a song, for messages.
fn texts(song: &Song) -> Vec<String> {
    let translations = song.lines().map(|(at, line)| format!("{at}: {}", line.translation));
    let glosses = song.words().map(|(at, word)| format!("{at}: {}", word.gloss.text()));
    translations.chain(glosses).filter(|text| !text.ends_with(": ")).collect()
}

/// Random numbers that a seed brings back (a Weyl sequence, mixed by the finaliser of Sebastiano Vigna, splitmix64,
/// 2015; from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    fn below(&mut self, limit: u64) -> u64 {
        self.next() % limit
    }
}
