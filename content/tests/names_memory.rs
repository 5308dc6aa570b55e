//! How often memory is asked for while a typed name is looked up: it may depend on the text, never on
//! how many muscles there are.

use allocation_counter::measure;
use myonym_content::Catalogue;
use myonym_content::name::NameIndex;

/// The bound is ours: what a text takes itself, folded, cut into words and answered, is some dozens;
/// the names that it is compared with are 1,000 and more.
const MOST: u64 = 250;

#[test]
fn no_name_that_is_compared_asks_for_memory() {
    let index = NameIndex::of(Catalogue::bundled());
    for typed in [
        "Teres minor",
        "minor teres",
        "serratus ant",
        "latisimus dorsi",
        "brachiordialis",
        "spinatus",
        "the round one on the shoulder",
        "I really have no idea which muscle this may be, sorry, perhaps one of the arm?",
    ] {
        let mut found = None;
        let asked = measure(|| found = Some(index.resolve(typed))).count_total;
        assert!(asked <= MOST, "{typed:?}: {asked} times, {found:?}");
    }
}

/// The count counts: as many texts as there are muscles take at least as many pieces of memory.
#[test]
fn memory_that_is_asked_for_is_counted() {
    let catalogue = Catalogue::bundled();
    let names = || catalogue.muscles().map(|muscle| muscle.name.clone()).collect::<Vec<_>>();
    let mut copied = Vec::new();
    let asked = measure(|| copied = names()).count_total;
    assert!(asked >= copied.len() as u64, "{asked} for {}", copied.len());
}
