//! Whatever keys are pressed and whatever is pasted: no panic, no control character on the screen, no song that is lost.
//!
//! The events are random and repeatable: a seed names them, and is printed. `UNDERSONG_LONG` asks for 200,000 events in
//! place of 20,000, `UNDERSONG_SEED` for others than the usual ones.

use super::stage::{Screen, Stage};
use std::collections::VecDeque;
use std::env;
use undersong::store::read_song;
use undersong::text::clean;
use undersong::tui::{Context, Effect, Key, TABLE, Theme};

/// Events on one copy of a song. Fewer than the steps that the history remembers, so that all of them can be undone.
const ROUND: usize = 5_000;

/// Rounds on each of the four songs.
fn n_rounds() -> u64 {
    if env::var_os("UNDERSONG_LONG").is_some() { 10 } else { 1 }
}

/// Numbers after G. Marsaglia, "Xorshift RNGs", 2003; from memory.
struct Random(u64);

impl Random {
    fn with_seed(seed: u64) -> Random {
        Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 33) as usize % n
    }

    fn one_of<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> &'a T {
        list[self.below(list.len())]
    }
}

/// Keys by weight: what is pressed often in the work stands first.
const KEYS: &[(usize, &[&str])] = &[
    (30, &["a", "e", "n", "s", "t", "1", "2", "é", "ж", "愛", "\u{301}", "\"", "O", ":", "~", "-", "space", "’"]),
    (14, &["enter", "tab", "right", "left", "down", "up"]),
    (6, &["backspace", "delete", "home", "end", "page-up", "page-down", "shift-tab", "esc"]),
    (5, &["ctrl-u", "ctrl-r", "ctrl-n", "ctrl-d", "ctrl-space", "ctrl-a"]),
    (4, &["ctrl-t", "ctrl-o", "ctrl-w", "ctrl-left", "ctrl-right", "ctrl-up", "ctrl-down", "ctrl-home", "ctrl-end"]),
    (2, &["ctrl-e", "ctrl-g", "ctrl-f", "ctrl-b", "ctrl-p", "f1", "f2", "ctrl-s", "ctrl-q", "ctrl-l", "f9", "ctrl-y"]),
];

const PASTES: &[&str] = &[
    "",
    "\n",
    "night",
    "1",
    "O notte amica\nche culli l’onda\n",
    "1. O notte\n\n2. O sol\n\n3. O mar",
    "LIVIA:\n12 O notte (piano)\n13 O sol\n\nORESTE:\n[from afar]\n20 Torna\n",
    "\u{1b}[31mrosso\u{1b}[0m\u{7}\u{8}\n\u{9b}2J\tb\u{0}c\r\nd\re",
    "\u{202e}abc\u{2066}\u{feff}\u{ad}\u{200b}x",
    "\u{301}\u{303}e\u{301}\u{361}ts",
    "любовь愛してる👩\u{200d}👩\u{200d}👧\u{1f1ee}\u{1f1f9}",
    "precipitevolissimevolmenteprecipitevolissimevolmenteprecipitevolissimevolmenteprecipitevolissimevolmente a",
    "- - … — « »\n...\n\n\n\n",
    "key: [value, {a: b}] # c\n--- |\n  - \"'\n!!x &a *a %",
];

/// The last events, told if the test fails.
struct Log {
    seed: u64,
    n_events: usize,
    last: VecDeque<String>,
}

impl Log {
    fn note(&mut self, event: String) {
        self.n_events += 1;
        if self.last.len() == 60 {
            self.last.pop_front();
        }
        self.last.push_back(event);
    }
}

impl Drop for Log {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let last: Vec<&str> = self.last.iter().map(String::as_str).collect();
            eprintln!("seed {}, event {}; the last events:\n{}", self.seed, self.n_events, last.join(" "));
        }
    }
}

/// One round on a copy of a song.
fn play(name: &str, seed: u64) {
    let mut random = Random::with_seed(seed);
    let mut log = Log { seed, n_events: 0, last: VecDeque::new() };
    let mut stage = Stage::demo(name);
    let start = stage.song().clone();
    for n in 1..=ROUND {
        let effects = event(&mut stage, &mut random, &mut log);
        if effects.contains(&Effect::Save) {
            stage.editor.file_mut().save().unwrap();
        }
        if n % 50 == 0 {
            draw(&mut stage, &mut random);
        }
        if n % 2_000 == 0 {
            save_and_read_again(&mut stage);
        }
    }
    while !matches!(stage.editor.context(), Context::Sheet | Context::Translation | Context::Notes) {
        stage.press("esc");
    }
    // What is being typed is settled by a save, and would otherwise be one step more when it is undone.
    stage.press("ctrl-s");
    save_and_read_again(&mut stage);
    let end = stage.song().clone();
    until_it_says(&mut stage, "ctrl-u", "Nothing to undo");
    assert!(*stage.song() == start, "undone to the start, the song is that of the start");
    until_it_says(&mut stage, "ctrl-r", "Nothing to redo");
    assert!(*stage.song() == end, "made again, the song is that of the end");
}

/// Something that a singer, a cat on the keyboard or a clipboard may do.
fn event(stage: &mut Stage, random: &mut Random, log: &mut Log) -> Vec<Effect> {
    match random.below(100) {
        0..2 => {
            let text = random.one_of(PASTES);
            log.note(format!("{text:?}"));
            stage.editor.paste(text);
            Vec::new()
        }
        2..5 => {
            let command = &TABLE[random.below(TABLE.len())];
            log.note(format!(":{}", command.name));
            stage.editor.act(command.action)
        }
        _ => {
            let all: usize = KEYS.iter().map(|(weight, _)| weight).sum();
            let mut at = random.below(all);
            let (_, keys) = KEYS
                .iter()
                .find(|(weight, _)| {
                    let is_here = at < *weight;
                    at = at.saturating_sub(*weight);
                    is_here
                })
                .unwrap();
            let name = random.one_of(keys);
            log.note(name.to_owned());
            stage.editor.key(name.parse::<Key>().unwrap())
        }
    }
}

/// Draws at a random size, and looks for what a terminal might obey.
fn draw(stage: &mut Stage, random: &mut Random) {
    let (width, height) = (1 + random.below(200) as u16, 1 + random.below(60) as u16);
    let screen = Screen::of(&mut stage.editor, width, height, &Theme::new(true));
    for cell in &screen.buffer.content {
        let symbol = cell.symbol();
        assert!(clean::is_storable(symbol) && !symbol.contains('\n'), "{symbol:?} at {width}x{height}");
    }
    if let Some((x, y)) = screen.cursor {
        assert!(x < width && y < height, "cursor at {x}, {y} of {width}x{height}");
    }
}

/// Settles what is being written, saves, and compares with what is read.
fn save_and_read_again(stage: &mut Stage) {
    stage.editor.pause();
    let file = stage.editor.file_mut();
    file.save().unwrap();
    let (song, notices) = read_song(file.path()).unwrap();
    assert_eq!(notices, []);
    assert!(song == *file.song(), "what is read is what was saved");
}

/// Presses a key until the last row says that there is nothing more.
fn until_it_says(stage: &mut Stage, key: &str, nothing: &str) {
    for _ in 0..=2 * ROUND / 100 {
        (0..100).for_each(|_| drop(stage.press(key)));
        if stage.screen(80, 24).rows[23].starts_with(nothing) {
            return;
        }
    }
    panic!("“{nothing}” is never said");
}

fn play_all(name: &str, number: u64) {
    let base = env::var("UNDERSONG_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(1_000 * number);
    for seed in base..base + n_rounds() {
        eprintln!("{name}: {ROUND} random events with seed {seed}");
        play(name, seed);
    }
}

#[test]
fn random_events_on_a_song_half_done() {
    play_all("farera", 1);
}

#[test]
fn random_events_on_a_song_not_begun() {
    play_all("die-stille-see", 2);
}

#[test]
fn random_events_on_a_song_with_everything() {
    play_all("notte-di-ventalba", 3);
}

#[test]
fn random_events_on_a_scene_in_another_script() {
    play_all("ogni-mayaka", 4);
}
