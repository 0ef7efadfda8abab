//! The commands, as a user meets them.

use crate::world::World;

#[test]
fn a_pasted_text_becomes_a_printed_sheet() {
    let world = World::new();
    let text = "1. L’onda e il vento\nLa notte e l'onda\n";
    let ran = world.run_with(&["new", "song.yaml", "--lang", "it", "--title", "Onda", "--text", "-"], text);
    assert_eq!(ran.status, 0, "{ran}");
    for (form, gloss) in [("l’", "the"), ("onda", "wave"), ("e", "and"), ("il", "the"), ("vento", "wind")] {
        world.ok(&["lexicon", "add", form, gloss, "--lang", "it"]);
    }
    let ran = world.run(&["fill", "song.yaml"]);
    assert_eq!(ran.status, 0, "{ran}");
    let sheet = world.ok(&["print", "song.yaml"]);
    assert!(sheet.contains("L’    onda   e     il    vento\n~the  ~wave  ~and  ~the  ~wind\n"), "{sheet}");
}
