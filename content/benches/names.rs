//! What a typed name costs to be looked up among all muscles of the catalogue, and how often memory
//! is asked for on the way; and what it costs to compare two muscles.
//!
//! ```sh
//! cargo bench -p myonym-content
//! ```

use std::hint::black_box;

use divan::counter::ItemsCount;
use divan::{AllocProfiler, Bencher};
use myonym_content::movement_name::MovementIndex;
use myonym_content::name::{NameIndex, fold};
use myonym_content::near::{Compared, nearness};
use myonym_content::{Catalogue, Course, ListKey, Muscle};

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

/// What students type, from the quickest to the slowest to be looked up.
const TYPED: [&str; 9] = [
    "Teres minor",
    "minor teres",
    "serratus ant",
    "latisimus dorsi",
    "flexer carpi ulnaris",
    "brachiordialis",
    "spinatus",
    "the round one on the shoulder",
    "I really have no idea which muscle this may be, sorry, perhaps one of the arm?",
];

/// One typed name among all muscles.
#[divan::bench(args = TYPED)]
fn name(bencher: Bencher<'_, '_>, typed: &str) {
    let index = NameIndex::of(Catalogue::bundled());
    bencher.bench(|| index.resolve(black_box(typed)));
}

/// The plain way, to compare with: the edits from a typed name to every form that a muscle has, by
/// another library, and the least of them. It tells neither half names nor ties.
#[divan::bench]
fn plain_name(bencher: Bencher<'_, '_>) {
    let catalogue = Catalogue::bundled();
    let own = (catalogue.muscles())
        .flat_map(|muscle| [&muscle.name, &muscle.latin].into_iter().chain(&muscle.synonyms));
    let others = (catalogue.others())
        .flat_map(|other| [&other.name].into_iter().chain(&other.latin).chain(&other.synonyms));
    let forms: Vec<String> = own.chain(others).map(|form| fold(form)).collect();
    bencher.counter(ItemsCount::new(forms.len())).bench(|| {
        let typed = fold(black_box("flexer carpi ulnaris"));
        forms.iter().map(|form| strsim::damerau_levenshtein(&typed, form)).min()
    });
}

/// One typed movement among all.
#[divan::bench(args = ["flexion of the forearm", "flexes the forarm at the elbow", "it moves the arm somehow"])]
fn movement(bencher: Bencher<'_, '_>, typed: &str) {
    let index = MovementIndex::of(&Catalogue::bundled().vocabulary);
    bencher.bench(|| index.resolve(black_box(typed)));
}

/// The index of all muscles, made once for each list.
#[divan::bench]
fn index(bencher: Bencher<'_, '_>) {
    let catalogue = Catalogue::bundled();
    bencher.bench(|| NameIndex::of(black_box(catalogue)));
}

/// How near every muscle is to every other: what is compared of each is looked up once.
#[divan::bench(sample_count = 10)]
fn likeness_of_all(bencher: Bencher<'_, '_>) {
    let catalogue = Catalogue::bundled();
    let count = catalogue.muscles().count();
    bencher.counter(ItemsCount::new(count * count)).bench(|| {
        let compared = |muscle| Compared::new(&catalogue.vocabulary, muscle);
        let all: Vec<Compared<'_>> = black_box(catalogue).muscles().map(compared).collect();
        let pairs = all.iter().flat_map(|a| all.iter().map(move |b| a.with(b).value()));
        pairs.sum::<f64>()
    });
}

/// The same pair by pair, to compare with.
#[divan::bench(sample_count = 10)]
fn likeness_pair_by_pair(bencher: Bencher<'_, '_>) {
    let catalogue = Catalogue::bundled();
    let muscles: Vec<&Muscle> = catalogue.muscles().collect();
    bencher.counter(ItemsCount::new(muscles.len() * muscles.len())).bench(|| {
        let pairs = muscles.iter().flat_map(|a| muscles.iter().map(move |b| (a, b)));
        pairs.map(|(a, b)| nearness(&catalogue.vocabulary, a, b).value()).sum::<f64>()
    });
}

/// The bundled content read from its text.
#[divan::bench(sample_count = 10)]
fn catalogue(bencher: Bencher<'_, '_>) {
    let files = myonym_content::catalogue::bundled_files();
    bencher.bench(|| Catalogue::load(black_box(&files)));
}

/// A muscle list made ready to be played.
#[divan::bench(sample_count = 10, args = ["introductory", "shoulder"])]
fn course(bencher: Bencher<'_, '_>, list: &str) {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new(list)).expect("the list is in the catalogue");
    bencher.bench(|| Course::new(catalogue, black_box(list)));
}
