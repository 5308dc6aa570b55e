//! Join words: two bone names that can be said and heard in a noisy room.

use std::collections::BTreeSet;

use myonym_wire::JoinWord;
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

/// A word that is not among those taken: two different bones, or three once most pairs are used.
pub(crate) fn draw(seed: u64, taken: &BTreeSet<JoinWord>) -> JoinWord {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let pairs = BONES.len() * (BONES.len() - 1);
    let count = if taken.len() * 2 > pairs { 3 } else { 2 };
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawn_words_are_new_and_go_on_when_pairs_run_out() {
        let mut taken = BTreeSet::new();
        for seed in 0..2_000 {
            let word = draw(seed, &taken);
            assert!(taken.insert(word), "drawn twice");
        }
    }
}
