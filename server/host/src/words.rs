//! Join words: two bone names that can be said and heard in a noisy room.

use std::collections::BTreeSet;

use myonym_wire::JoinWord;
use myonym_wire::limits::JOIN_WORD_BONES as MOST_BONES;
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand::rngs::ChaCha8Rng;

/// Bones whose names are short, told apart by ear, and hard to misspell.
const BONES: [&str; 42] = [
    "atlas",
    "axis",
    "calcaneus",
    "capitate",
    "clavicle",
    "coccyx",
    "concha",
    "cuboid",
    "ethmoid",
    "femur",
    "fibula",
    "frontal",
    "hamate",
    "humerus",
    "hyoid",
    "incus",
    "ilium",
    "lacrimal",
    "lunate",
    "malleus",
    "mandible",
    "maxilla",
    "nasal",
    "navicular",
    "occipital",
    "palatine",
    "parietal",
    "patella",
    "pisiform",
    "radius",
    "rib",
    "sacrum",
    "scaphoid",
    "scapula",
    "sphenoid",
    "stapes",
    "sternum",
    "talus",
    "temporal",
    "tibia",
    "ulna",
    "vomer",
];

/// Of how many words one may be taken, where the server stands in a classroom and where strangers
/// reach it: the fewer, the sooner one is found by trying.
const ROOMY: [usize; 2] = [1_000, 60_000];

/// A word that is not among those taken: of different bones, two or as many more as make it unlikely
/// to be guessed. `is_public` says whether strangers reach the server.
pub(crate) fn draw(seed: u64, taken: &BTreeSet<JoinWord>, is_public: bool) -> JoinWord {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let count = bones((taken.len() + 1) * ROOMY[usize::from(is_public)]);
    loop {
        let mut bones: Vec<&str> = Vec::with_capacity(count);
        while bones.len() < count {
            let bone = BONES[random.random_range(0..BONES.len())];
            if !bones.contains(&bone) {
                bones.push(bone);
            }
        }
        if let Ok(word) = bones.join("-").parse::<JoinWord>()
            && !taken.contains(&word)
        {
            return word;
        }
    }
}

/// Bones of a word of which there are at least so many; as many as a word may have, at most.
fn bones(words: usize) -> usize {
    let there_are = |count: usize| (0..count).map(|used| BONES.len() - used).product::<usize>();
    (2..MOST_BONES).find(|count| there_are(*count) >= words).unwrap_or(MOST_BONES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawn_words_are_new_and_grow_before_they_can_be_guessed() {
        for is_public in [false, true] {
            let mut taken = BTreeSet::new();
            for seed in 0..2_000 {
                let word = draw(seed, &taken, is_public);
                assert!(taken.insert(word), "drawn twice");
            }
        }
    }

    /// 42 bones make 42 x 41 = 1,722 words of two, 68,880 of three, 2,686,320 of four.
    #[test]
    fn a_word_has_as_many_bones_as_it_takes_to_be_rare() {
        let check = |taken: usize, is_public: bool, want: usize| {
            let taken = (0..taken).map(|seed| draw(u64::MAX - seed as u64, &BTreeSet::new(), true));
            let mut words = BTreeSet::new();
            words.extend(taken);
            let word = draw(7, &words, is_public);
            assert_eq!(word.as_str().split('-').count(), want, "{} {is_public}", words.len());
        };
        check(0, false, 2);
        check(1, false, 3);
        check(0, true, 3);
        check(1, true, 4);
        check(40, true, 4);
        check(60, true, 5);
    }
}
