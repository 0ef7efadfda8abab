//! The program killed at any moment: every confirmed edit is there, no file is half written.
//!
//! A child process (this binary again, running [`scripted_editor`] alone) opens a song and works through a script; it reports a step only
//! after the step has returned. The parent kills it, knows the script too, and compares what lies on the disk with a [`Model`] that
//! shares no code with the store or with `song::apply`: it assigns to the fields of a song and remembers whole songs for undo.

use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader, Lines, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use undersong::song::{Annotation, Cell, Edit, Line, LineAt, LinePart, Section, Song, Word, WordAt};
use undersong::store::{Notice, SongFile, backup_path, read_song, song_to_yaml};

const FOLDER: &str = "UNDERSONG_TEST_KILLS_FOLDER";
const SCRIPT: &str = "UNDERSONG_TEST_KILLS_SCRIPT";
const SEED: &str = "UNDERSONG_TEST_KILLS_SEED";

/// Stands at the head of the file and must still stand there in the end.
const HEAD: &str = "# Marked up at the piano.\n";
const N_LINES: usize = 6;
const N_WORDS: usize = 4;

// ---------------------------------------------------------------------------------------------------------------- random kills

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
        workers.into_iter().map(|worker| worker.join().unwrap()).collect()
    });
    let sum = |part: fn(&Tally) -> usize| tallies.iter().map(part).sum::<usize>();
    let (n_kills, n_confirmed, n_recovered) =
        (sum(|t| t.n_kills), sum(|t| t.n_confirmed), sum(|t| t.n_recovered_edits));
    eprintln!(
        "kills: {n_kills} kills, {} before the song was open, {n_confirmed} confirmed steps, {} kills with something to recover, \
         {n_recovered} edits recovered, {} steps on the disk but not yet confirmed",
        sum(|t| t.n_early),
        sum(|t| t.n_with_journal),
        sum(|t| t.n_unconfirmed),
    );
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
}

/// One child after the other on the same song, each killed at a random moment.
fn kill_in_turn(mut random: Random, n_kills: usize) -> Tally {
    let desk = Desk::new();
    let mut model = Model::at(first_song());
    let mut tally = Tally::default();
    for _ in 0..n_kills {
        let script = format!("random {}", random.next());
        let report = run_and_kill(&desk, &script, Moment::at_random(&mut random));
        let found = desk.check_after(&model, &script, &report);
        tally.n_kills += 1;
        tally.n_early += usize::from(!report.is_open);
        tally.n_confirmed += report.n_confirmed;
        tally.n_with_journal += usize::from(found.n_unsaved > 0);
        tally.n_recovered_edits += found.n_unsaved;
        tally.n_unconfirmed += usize::from(found.n_steps > report.n_confirmed);
        // Now and then the next child has to recover what this one left, and may be killed over that.
        model = if random.below(4) == 0 { found } else { desk.check_recovery(&found) };
    }
    tally
}

/// When a child is killed.
enum Moment {
    AfterStart(Duration),
    AfterOpening(Duration),
    AfterConfirmed(usize, Duration),
}

impl Moment {
    fn at_random(random: &mut Random) -> Moment {
        let mut micros = |most| Duration::from_micros(random.below(most));
        let (long, short) = (micros(25_000), micros(1_500));
        match random.below(4) {
            0 => Moment::AfterStart(long),
            1 => Moment::AfterOpening(long),
            _ => Moment::AfterConfirmed(1 + random.below(30) as usize, short),
        }
    }
}

fn run_and_kill(desk: &Desk, script: &str, moment: Moment) -> Report {
    let mut child = editor(desk.path(), script).spawn().unwrap();
    let mut report = Report::default();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let delay = match moment {
        Moment::AfterStart(delay) => delay,
        Moment::AfterOpening(delay) => {
            report.read_while(&mut lines, |report| !report.is_open);
            delay
        }
        Moment::AfterConfirmed(n, delay) => {
            report.read_while(&mut lines, |report| report.n_confirmed < n);
            delay
        }
    };
    std::thread::sleep(delay);
    end(&mut child);
    report.read_while(&mut lines, |_| true);
    assert!(report.trouble.is_empty(), "the child met a trouble of its own: {report:?}");
    report
}

/// SIGKILL, and no zombie.
fn end(child: &mut Child) {
    child.kill().unwrap();
    child.wait().unwrap();
}

// ------------------------------------------------------------------------------------------------------- every system call

/// The system calls by which a file or a folder changes, and those around them. `exit_group` stands for the moment after all others.
const CALLS: [&str; 17] = [
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
    "exit_group",
];

#[test]
fn a_save_killed_at_any_system_call_loses_nothing() {
    let Some(tracer) = Tracer::find() else { return };
    let n = tracer.at_every_call(Blow::Kill, "save", |desk, report| {
        let found = desk.check_after(&Model::at(first_song()), "save", report);
        desk.check_recovery(&found);
    });
    eprintln!("kills: {n} system call boundaries of two edits and a save");
    assert!(n > 25, "only {n} boundaries: the tracer has missed some");
}

#[test]
fn a_save_whose_system_calls_fail_once_loses_nothing() {
    let Some(tracer) = Tracer::find() else { return };
    let n = tracer.at_every_call(Blow::Fail, "save", |desk, report| {
        assert_eq!(report.stuck, Vec::<String>::new(), "a step could not be repeated after one failure: {report:?}");
        let found = desk.check_after(&Model::at(first_song()), "save", report);
        desk.check_recovery(&found);
    });
    eprintln!("kills: {n} system calls of two edits and a save failed with a full disk");
    assert!(n > 25, "only {n} calls: the tracer has missed some");
}

#[test]
fn a_recovery_killed_at_any_system_call_can_be_repeated() {
    let Some(tracer) = Tracer::find() else { return };
    let model = Model::at(first_song()).with_two_edits();
    let n = tracer.at_every_call_from(Desk::leave_a_journal, Blow::Kill, "open", |desk, report| {
        let found = desk.check_after(&model, "open", report);
        desk.check_recovery(&found);
    });
    eprintln!("kills: {n} system call boundaries of a recovery");
    assert!(n > 15, "only {n} boundaries: the tracer has missed some");
}

#[test]
fn keeping_two_versions_killed_at_any_system_call_keeps_both() {
    let Some(tracer) = Tracer::find() else { return };
    let mine = Model::at(first_song()).with_two_edits().song;
    let mut theirs = first_song();
    theirs.details.title = "Changed elsewhere".into();
    let prepare = |desk: &Desk| {
        desk.leave_a_journal();
        fs::write(desk.song(), file_of(&theirs)).unwrap();
    };
    let n = tracer.at_every_call_from(prepare, Blow::Kill, "open", |desk, _| {
        assert_eq!(fs::read_to_string(desk.song()).unwrap(), file_of(&theirs));
        drop(SongFile::open(&desk.song()).unwrap());
        assert_eq!(fs::read_to_string(desk.song()).unwrap(), file_of(&theirs));
        let mut names = desk.names();
        assert!(names.remove("song.yaml"));
        // Killed between the copy and the end of the journal, the next start makes a second copy: that loses nothing.
        let is_copy = |name: &String| name.starts_with("song.recovered") && name.ends_with(".yaml");
        let (copies, others): (BTreeSet<String>, BTreeSet<String>) = names.into_iter().partition(is_copy);
        assert!(!copies.is_empty(), "the unsaved work is gone");
        for copy in &copies {
            assert_eq!(fs::read_to_string(desk.path().join(copy)).unwrap(), file_of(&mine), "{copy}");
        }
        assert_eq!(others, BTreeSet::new(), "leftovers");
    });
    eprintln!("kills: {n} system call boundaries of keeping two versions");
    assert!(n > 15, "only {n} boundaries: the tracer has missed some");
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
    let n = tracer.at_every_call_from(prepare, Blow::Kill, "open", |desk, _| {
        let (file, _) = SongFile::open(&desk.song()).unwrap();
        assert_eq!(file.song(), &one_edit, "the edit before the damage");
        drop(file);
        let copies = desk.names().into_iter().filter(|name| name.ends_with(".journal") && !name.starts_with('.'));
        let copies: Vec<Vec<u8>> = copies.map(|name| fs::read(desk.path().join(name)).unwrap()).collect();
        assert!(copies.contains(&damaged), "the damaged journal is gone");
        assert!(!desk.journal().exists());
    });
    eprintln!("kills: {n} system call boundaries of keeping a damaged journal");
    assert!(n > 15, "only {n} boundaries: the tracer has missed some");
}

/// What happens to a child at a system call.
#[derive(Clone, Copy, Debug)]
enum Blow {
    /// It is killed on entering the call, which is then not carried out. Files change only in system calls, so that the entry of one call
    /// is the exit of the call before it as far as the disk is concerned; `strace` delivers a signal at the entry only.
    Kill,
    /// The call is not carried out and says that the disk is full.
    Fail,
}

/// `strace`, which ends a process at a chosen system call.
struct Tracer;

impl Tracer {
    fn find() -> Option<Tracer> {
        let mut probe = Command::new("strace");
        let status = probe.args(["-o", "/dev/null", "true"]).stdout(Stdio::null()).stderr(Stdio::null()).status();
        match status {
            Ok(status) if status.success() => Some(Tracer),
            Ok(status) => {
                eprintln!("skipped: strace may not trace here ({status}), so that no system call can be chosen");
                None
            }
            Err(error) => {
                eprintln!("skipped: strace cannot be run ({error}), so that no system call can be chosen");
                None
            }
        }
    }

    /// Returns how many calls were struck after the child had begun its work.
    fn at_every_call(&self, blow: Blow, script: &str, check: impl Fn(&Desk, &Report) + Sync) -> usize {
        self.at_every_call_from(|_| (), blow, script, check)
    }

    fn at_every_call_from(
        &self,
        prepare: impl Fn(&Desk) + Sync,
        blow: Blow,
        script: &str,
        check: impl Fn(&Desk, &Report) + Sync,
    ) -> usize {
        let at_call = |call: &str| {
            let mut n_struck = 0;
            for nth in 1.. {
                let desk = Desk::new();
                prepare(&desk);
                let report = self.strike(&desk, blow, call, nth, script);
                if report.is_begun {
                    n_struck += usize::from(report.is_struck);
                    let checked = std::panic::AssertUnwindSafe(|| check(&desk, &report));
                    if let Err(cause) = std::panic::catch_unwind(checked) {
                        eprintln!("{blow:?} at {call} number {nth} of `{script}`: {report:?}\n{:?}", desk.names());
                        std::panic::resume_unwind(cause);
                    }
                }
                if !report.is_struck {
                    break;
                }
                assert!(nth < 500, "{call}: no end");
            }
            n_struck
        };
        std::thread::scope(|scope| {
            let (at_call, halves) = (&at_call, CALLS.split_at(CALLS.len() / 2));
            let count = move |calls: &'static [&str]| calls.iter().map(|call| at_call(call)).sum::<usize>();
            let other = scope.spawn(move || count(halves.1));
            count(halves.0) + other.join().unwrap_or_else(|cause| std::panic::resume_unwind(cause))
        })
    }

    fn strike(&self, desk: &Desk, blow: Blow, call: &str, nth: usize, script: &str) -> Report {
        let what = match blow {
            Blow::Kill => "signal=SIGKILL",
            Blow::Fail => "error=ENOSPC",
        };
        let log = desk.outside().join("trace");
        let mut command = Command::new("strace");
        command.args(["-f", "-qq", "-o"]).arg(&log).args(["-e", &format!("trace={}", CALLS.join(","))]);
        command.args(["-e", &format!("inject={call}:{what}:when={nth}")]);
        let mut child = with_editor(command, desk.path(), script).spawn().unwrap();
        let mut report = Report::default();
        report.read_while(&mut BufReader::new(child.stdout.take().unwrap()).lines(), |_| true);
        child.wait().unwrap();
        let log = fs::read_to_string(&log).unwrap();
        report.is_struck = log.contains("(INJECTED)") || log.contains("killed by SIGKILL");
        report
    }
}
