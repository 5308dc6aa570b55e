//! A simulated student.

use std::sync::Arc;
use std::time::Duration;

use myonym_content::MuscleKey;
use myonym_wire::{
    AttemptId, ClueShown, FromStudent, Hello, Moment, PersonToken, RoundNo, Task, ToStudent,
};
use rand::rngs::ChaCha8Rng;
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use tokio::time::{self, Instant};
use tracing::debug;
use uuid::Uuid;

use super::Plan;
use super::knowledge::Knowledge;
use super::socket::Socket;

/// Invented names: plants and stones.
const NAMES: [&str; 24] = [
    "Alder", "Basalt", "Clover", "Dune", "Elder", "Flint", "Gorse", "Hazel", "Iris", "Juniper",
    "Kelp", "Larch", "Marl", "Nettle", "Oak", "Poppy", "Quartz", "Rowan", "Slate", "Thyme",
    "Umber", "Vetch", "Willow", "Yarrow",
];

/// Share of the class that has a planted confusion.
const PRONE: f64 = 0.6;
/// How often a slip of the finger spoils a name, and how often only half of it is typed.
const SLIP: f64 = 0.08;
const HALF: f64 = 0.06;

/// Students at one bench.
const BENCH: u16 = 4;

/// One student.
pub(super) struct Student {
    number: u16,
    name: String,
    plan: Plan,
    knowledge: Arc<Knowledge>,
    random: ChaCha8Rng,
    /// Probability of knowing a muscle that the clues single out, and what it does.
    ability: f64,
    prone: bool,
}

/// The round that a student is in.
struct Round {
    number: RoundNo,
    task: Task,
    /// The names to choose between, where one of two is asked for.
    offered: Vec<String>,
    limit_ms: u32,
    opened: Instant,
    clues: Vec<ClueShown>,
    clue_count: usize,
    /// When the next thought comes to an end.
    thinks_until: Option<Instant>,
    /// What the student has made up its mind to say.
    mind: Option<String>,
    done: bool,
}

impl Student {
    pub(super) fn new(number: u16, plan: &Plan, knowledge: Arc<Knowledge>) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(plan.seed ^ (u64::from(number) << 32));
        let stem = NAMES[usize::from(number) % NAMES.len()];
        let again = usize::from(number) / NAMES.len();
        let name = if again == 0 { stem.to_owned() } else { format!("{stem} {}", again + 1) };
        let ability = random.random_range(0.55..0.98);
        let prone = random.random_bool(PRONE);
        Self { number, name, plan: plan.clone(), knowledge, random, ability, prone }
    }

    /// Plays until the review ends. A lost connection ends a simulated student: clients that come
    /// back are tested elsewhere.
    pub(super) async fn play(mut self) {
        if let Err(fault) = self.run().await {
            debug!(name = %self.name, %fault, "a simulated student left");
        }
    }

    async fn run(&mut self) -> anyhow::Result<()> {
        let word = self.plan.word.clone();
        let hello = Hello::Join {
            word,
            name: self.name.clone(),
            listed: true,
            seat: None,
            // The same in every rehearsal, as a device would have it.
            person: Some(PersonToken::from_bits(u128::from(self.number) + 1)),
            group: Some(format!("Bench {}", self.number / BENCH + 1)),
        };
        let mut socket = Socket::connect(self.plan.server, &hello).await?;
        let mut round: Option<Round> = None;
        loop {
            let thought = round.as_ref().and_then(|round| round.thinks_until);
            tokio::select! {
                message = socket.next::<ToStudent>() => match message? {
                    None => return Ok(()),
                    Some(message) => self.hear(message, &mut round, &mut socket).await?,
                },
                () = wait(thought) => {
                    if let Some(round) = &mut round {
                        self.think(round, &mut socket).await?;
                    }
                }
            }
        }
    }

    #[expect(clippy::wildcard_enum_match_arm, reason = "it passes by what it has no use for")]
    async fn hear(
        &mut self,
        message: ToStudent,
        round: &mut Option<Round>,
        socket: &mut Socket,
    ) -> anyhow::Result<()> {
        match message {
            ToStudent::Seated { moment, .. } => {
                if let Moment::Open {
                    round: number,
                    task,
                    offered,
                    limit_ms,
                    clues,
                    clue_count,
                    ..
                } = *moment
                {
                    *round = Some(self.enter(number, task, offered, limit_ms, clues, clue_count));
                }
            }
            ToStudent::RoundOpened {
                round: number,
                task,
                offered,
                limit_ms,
                clue,
                clue_count,
                ..
            } => {
                let clues = vec![clue];
                *round = Some(self.enter(number, task, offered, limit_ms, clues, clue_count));
            }
            ToStudent::Clue { clue, .. } => {
                if let Some(round) = round {
                    round.clues.push(clue);
                    round
                        .thinks_until
                        .get_or_insert_with(|| soon(&mut self.random, round.limit_ms));
                }
            }
            ToStudent::WhichOne { among, .. } => {
                if let Some(round) = round {
                    let name = among.iter().find(|name| Some(*name) == round.mind.as_ref());
                    let name = name.or_else(|| among.first()).cloned().unwrap_or_default();
                    answer(round, name, socket).await?;
                }
            }
            ToStudent::UnknownName { .. } => {
                if let Some(round) = round
                    && let Some(mind) = round.mind.clone()
                {
                    answer(round, mind, socket).await?;
                }
            }
            ToStudent::RoundClosed { .. } | ToStudent::RoundSkipped { .. } => *round = None,
            _ => {}
        }
        Ok(())
    }

    fn enter(
        &mut self,
        number: RoundNo,
        task: Task,
        offered: Vec<String>,
        limit_ms: u32,
        clues: Vec<ClueShown>,
        clue_count: u8,
    ) -> Round {
        Round {
            number,
            task,
            offered,
            limit_ms,
            opened: now(),
            clues,
            clue_count: usize::from(clue_count),
            thinks_until: Some(soon(&mut self.random, limit_ms)),
            mind: None,
            done: false,
        }
    }

    /// At the end of a thought: answer, or wait for the next clue.
    async fn think(&mut self, round: &mut Round, socket: &mut Socket) -> anyhow::Result<()> {
        round.thinks_until = None;
        if round.done {
            return Ok(());
        }
        let mut left = self.knowledge.candidates(&round.clues);
        if !round.offered.is_empty() {
            let name = |muscle: &MuscleKey| self.knowledge.name(muscle).to_owned();
            left.retain(|muscle| round.offered.contains(&name(muscle)));
        }
        let last = round.clues.len() >= round.clue_count;
        let sure = match left.len() {
            0 | 1 => 0.85,
            2 => 0.35 * self.ability,
            3 => 0.15 * self.ability,
            _ => 0.02,
        };
        let speaks = if last { 0.96 } else { sure };
        if !self.random.random_bool(speaks) {
            if last && self.random.random_bool(0.5) {
                round.thinks_until = Some(soon(&mut self.random, round.limit_ms));
            }
            return Ok(());
        }
        let Some(believed) = left.choose(&mut self.random) else { return Ok(()) };
        let muscle = self.remember(believed);
        let mind = match round.task {
            Task::Name | Task::Picture => self.knowledge.name(&muscle).to_owned(),
            Task::Movement => self.movement(&muscle),
            Task::Contrast => self.of_two(believed, &muscle, &round.offered),
        };
        let typed = match round.task {
            // A key chooses, and no finger slips.
            Task::Contrast => mind.clone(),
            Task::Name | Task::Picture | Task::Movement => self.type_name(&mind),
        };
        round.mind = Some(mind);
        round.done = true;
        answer(round, typed, socket).await
    }

    /// The muscle that comes to mind when the clues say `meant`.
    fn remember(&mut self, meant: &MuscleKey) -> MuscleKey {
        if self.prone
            && let Some(said) = self.knowledge.planted().get(meant)
            && self.random.random_bool(0.8)
        {
            return said.clone();
        }
        if self.random.random_bool(self.ability) {
            return meant.clone();
        }
        // Not known: any of the nearer half of the list.
        let nearest = self.knowledge.nearest(meant);
        let half = &nearest[..nearest.len().div_ceil(2)];
        half.choose(&mut self.random).unwrap_or(meant).clone()
    }

    /// The one of two that is chosen by who believes in one muscle and has `remembered` another, or
    /// the same.
    fn of_two(&self, believed: &MuscleKey, remembered: &MuscleKey, offered: &[String]) -> String {
        let name = self.knowledge.name(believed);
        let other = offered.iter().find(|one| *one != name).filter(|_| remembered != believed);
        other.map_or_else(|| name.to_owned(), Clone::clone)
    }

    /// A movement of a muscle; or, to one who has forgotten, of any that comes to mind.
    fn movement(&mut self, muscle: &MuscleKey) -> String {
        let nearest = self.knowledge.nearest(muscle);
        let known = self.random.random_bool(self.ability);
        let whose = if known { None } else { nearest.choose(&mut self.random) };
        let movements = self.knowledge.movements(whose.unwrap_or(muscle));
        movements.choose(&mut self.random).cloned().unwrap_or_default()
    }

    fn type_name(&mut self, name: &str) -> String {
        if self.random.random_bool(HALF) {
            return name.split(' ').next().unwrap_or(name).to_owned();
        }
        if self.random.random_bool(SLIP) {
            let letters: Vec<char> = name.chars().collect();
            // Not the first letter, which people rarely miss.
            let slip = self.random.random_range(1..letters.len().max(2));
            return letters
                .iter()
                .enumerate()
                .filter(|(at, _)| *at != slip)
                .map(|(_, letter)| letter)
                .collect();
        }
        name.to_owned()
    }
}

async fn answer(round: &Round, text: String, socket: &mut Socket) -> anyhow::Result<()> {
    let elapsed_ms = u64::try_from(round.opened.elapsed().as_millis()).unwrap_or(u64::MAX);
    let attempt = AttemptId(Uuid::new_v4());
    socket.send(&FromStudent::Answer { round: round.number, attempt, text, elapsed_ms }).await
}

/// The end of a thought that starts now: 2 to 12 hundredths of the limit.
fn soon(random: &mut ChaCha8Rng, limit_ms: u32) -> Instant {
    let share = random.random_range(0.02..0.12);
    now() + Duration::from_millis(u64::from(limit_ms)).mul_f64(share)
}

/// The runtime's clock: a simulated student has no other.
fn now() -> Instant {
    Instant::now()
}

async fn wait(until: Option<Instant>) {
    match until {
        Some(at) => time::sleep_until(at).await,
        None => std::future::pending().await,
    }
}
