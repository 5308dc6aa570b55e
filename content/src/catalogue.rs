//! All muscles, the words that describe them, and the muscle lists.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::atlas::Atlas;
use crate::list::MuscleList;
use crate::load;
use crate::model::{ListKey, Muscle, MuscleKey, RegionKey};
use crate::problem::{Problem, SourceFile};
use crate::vocabulary::Vocabulary;

/// A muscle known by name only: typed by a student it counts as a muscle, but its facts are not in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherMuscle {
    /// Key, such as `gluteus-maximus`.
    pub key: MuscleKey,
    /// English name.
    pub name: String,
    /// Latin name in full, where known.
    pub latin: Option<String>,
    /// Other names in use.
    pub synonyms: Vec<String>,
    /// Short forms in use.
    pub abbreviations: Vec<String>,
    /// Region of the body.
    pub region: Option<RegionKey>,
}

/// All muscles, vocabulary and lists, checked against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Catalogue {
    /// The words that facts are made of.
    pub vocabulary: Vocabulary,
    /// Where things are.
    pub atlas: Arc<Atlas>,
    muscles: BTreeMap<MuscleKey, Muscle>,
    others: BTreeMap<MuscleKey, OtherMuscle>,
    lists: BTreeMap<ListKey, MuscleList>,
}

/// What a catalogue is made of.
pub(crate) struct Parts {
    pub(crate) vocabulary: Vocabulary,
    pub(crate) atlas: Atlas,
    pub(crate) muscles: BTreeMap<MuscleKey, Muscle>,
    pub(crate) others: BTreeMap<MuscleKey, OtherMuscle>,
    pub(crate) lists: BTreeMap<ListKey, MuscleList>,
}

impl Catalogue {
    /// The content that comes with the program, parsed once.
    ///
    /// # Panics
    ///
    /// Never in a build whose tests passed: one of them loads this very content.
    pub fn bundled() -> &'static Self {
        static BUNDLED: OnceLock<Catalogue> = OnceLock::new();
        BUNDLED
            .get_or_init(|| Self::load(&bundled_files()).expect("a test loads the bundled content"))
    }

    /// Loads these files as one catalogue. They stand alone: the bundled content is not added.
    ///
    /// # Errors
    ///
    /// All problems of all files, by file and line.
    pub fn load(files: &[SourceFile]) -> Result<Self, Vec<Problem>> {
        load::load(files)
    }

    /// Loads the bundled content together with these files.
    ///
    /// A file whose path ends like that of a bundled one, such as `content/lists/shoulder.toml`,
    /// takes its place, so that an edited copy can be checked.
    ///
    /// # Errors
    ///
    /// All problems of all files, by file and line.
    pub fn with_bundled(files: &[SourceFile]) -> Result<Self, Vec<Problem>> {
        Self::load(&with_bundled_files(files))
    }

    /// The muscle with this key.
    pub fn muscle(&self, key: &MuscleKey) -> Option<&Muscle> {
        self.muscles.get(key)
    }

    /// All muscles that have facts, by key.
    pub fn muscles(&self) -> impl Iterator<Item = &Muscle> {
        self.muscles.values()
    }

    /// The muscles known by name only, by key.
    pub fn others(&self) -> impl Iterator<Item = &OtherMuscle> {
        self.others.values()
    }

    /// The muscle list with this key.
    pub fn list(&self, key: &ListKey) -> Option<&MuscleList> {
        self.lists.get(key)
    }

    /// All muscle lists, by key.
    pub fn lists(&self) -> impl Iterator<Item = &MuscleList> {
        self.lists.values()
    }

    pub(crate) fn new(parts: Parts) -> Self {
        let Parts { vocabulary, atlas, muscles, others, lists } = parts;
        Self { vocabulary, atlas: Arc::new(atlas), muscles, others, lists }
    }
}

/// The bundled files, less those that one of `files` takes the place of, and `files`.
pub(crate) fn with_bundled_files(files: &[SourceFile]) -> Vec<SourceFile> {
    let replaced = |bundled: &SourceFile| {
        files.iter().any(|file| std::path::Path::new(&file.path).ends_with(&bundled.path))
    };
    let mut all: Vec<_> = bundled_files().into_iter().filter(|file| !replaced(file)).collect();
    all.extend_from_slice(files);
    all
}

/// The data files that come with the program, as they stand in the repository.
pub fn bundled_files() -> Vec<SourceFile> {
    BUNDLED_FILES
        .iter()
        .map(|(path, text)| SourceFile { path: (*path).to_owned(), text: (*text).to_owned() })
        .collect()
}

macro_rules! bundle {
    ($($path:literal)+) => {
        &[$((concat!("content/", $path), include_str!(concat!("../", $path)))),+]
    };
}

/// A test compares these with the folders.
const BUNDLED_FILES: &[(&str, &str)] = bundle! {
    "atlas/arm.toml"
    "atlas/forearm-hand.toml"
    "atlas/frame.toml"
    "atlas/head-neck.toml"
    "atlas/hip-thigh.toml"
    "atlas/judging.toml"
    "atlas/leg-foot.toml"
    "atlas/shoulder.toml"
    "atlas/trunk.toml"
    "lists/courses.toml"
    "lists/head-neck.toml"
    "lists/hip-thigh.toml"
    "lists/leg-foot.toml"
    "lists/shoulder.toml"
    "lists/trunk.toml"
    "lists/upper-limb.toml"
    "muscles/head-neck.toml"
    "muscles/hip-thigh.toml"
    "muscles/leg-foot.toml"
    "muscles/shoulder.toml"
    "muscles/trunk.toml"
    "muscles/upper-limb.toml"
    "vocabulary/bones.toml"
    "vocabulary/head-neck.toml"
    "vocabulary/hip-thigh.toml"
    "vocabulary/landmarks.toml"
    "vocabulary/leg-foot.toml"
    "vocabulary/movements.toml"
    "vocabulary/nerves.toml"
    "vocabulary/other-muscles.toml"
    "vocabulary/regions.toml"
    "vocabulary/sources.toml"
    "vocabulary/trunk.toml"
    "vocabulary/upper-limb.toml"
};
