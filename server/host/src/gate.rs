//! The gate: who gets in, by join word, seat token or key. Wrong ones slow their address down.
//!
//! Seat tokens and keys have 128 random bits: nobody guesses them, so who has one never waits. A
//! join word is short enough to be said aloud, and could be guessed by trying. So an address that
//! tried too many wrong ones waits, but not for a word by which somebody came in from there before:
//! one who plays about keeps nobody of the same class out, even where all share an address.

use std::net::IpAddr;
use std::sync::Arc;

use myonym_wire::{ErrorCode, Hello, HostKey, JoinWord, Millis, SeatToken};

use crate::groups::Gathering;
use crate::limits::{Known, Tries};
use crate::metrics::{COUNTS, Limit, Miss, Role};
use crate::names;
use crate::opening;
use crate::oplog;
use crate::reviews::Reviews;
use crate::room::{Entrant, RoomHandle};
use crate::secrets::TokenHash;

/// Why a connection closes that was refused, whatever for: the error before it says more.
pub(crate) const REFUSED: &str = "refused";
/// What an address is told that has to wait.
pub(crate) const WAIT: &str =
    "too many wrong join words or keys from here; wait half a minute, then try again";

/// What connections share.
#[derive(Debug)]
pub(crate) struct Gate {
    /// The reviews.
    pub(crate) reviews: Arc<Reviews>,
    /// Wrong join words and keys.
    misses: Tries,
    /// All of them, those too that were tried when the address had to wait.
    knocks: Tries,
    /// Join words by which an address came in.
    known: Known,
    /// Study groups opened.
    gatherings: Tries,
    /// Whether the counts may be seen from anywhere.
    pub(crate) shows_counts: bool,
}

/// A refusal: its code, and why in words for the person.
pub(crate) type Refusal = (ErrorCode, String);
type Admitted = Result<(RoomHandle, Role, Entrant), Refusal>;

impl Gate {
    /// A gate to these reviews.
    pub(crate) fn new(reviews: Arc<Reviews>) -> Self {
        Self {
            reviews,
            misses: Tries::misses(),
            knocks: Tries::knocks(),
            known: Known::default(),
            gatherings: Tries::gatherings(),
            shows_counts: false,
        }
    }

    /// The same gate, where counts may be seen from anywhere, or not.
    pub(crate) fn showing_counts(self, shows_counts: bool) -> Self {
        Self { shows_counts, ..self }
    }

    /// Whether a form brings a key of this server. A wrong one counts as one over the socket does,
    /// and is not told from a right one by anything but this.
    pub(crate) fn takes_key(
        &self,
        key: Option<&HostKey>,
        peer: IpAddr,
        now: Millis,
    ) -> Result<(), Refusal> {
        if key.is_some_and(|key| self.reviews.is_host_key(key)) {
            return Ok(());
        }
        let must_wait = self.misses.must_wait(peer, now);
        Err(Caller { gate: self, peer, now, must_wait }.wrong_key())
    }

    /// Finds the room and checks the key or the name.
    pub(crate) fn admit(&self, hello: Hello, peer: IpAddr, now: Millis) -> Admitted {
        let caller = Caller { gate: self, peer, now, must_wait: self.misses.must_wait(peer, now) };
        match hello {
            Hello::Join { word, name, listed, seat, person, group } => {
                let room = caller.find(&word)?;
                let name = clean_name(&name)?;
                let group = group.map(|group| clean_group(&group)).transpose()?;
                // What the device keeps goes no further than here.
                let person = person.map(|token| self.reviews.person(&token, &name));
                Ok((room, Role::Student, Entrant::Join { name, listed, seat, person, group }))
            }
            Hello::Return { word, seat } => caller.back(&word, seat),
            Hello::Conduct { word, key } => caller.conduct(word.as_ref(), &key),
            Hello::Open { key, settings, plan, own_list } => {
                if !self.reviews.is_host_key(&key) {
                    return Err(caller.wrong_key());
                }
                let (room, key) = opening::open(&self.reviews, &settings, plan, own_list)?;
                self.known.add(peer, &room.word);
                Ok((room, Role::Instructor, Entrant::Conduct { key: Some(key) }))
            }
            Hello::Gather { settings, name, listed, seat, person } => {
                let name = clean_name(&name)?;
                let is_fast = self.gatherings.must_wait(peer, now);
                let gathered = self.reviews.gather(&settings, seat.as_ref(), is_fast);
                let Gathering { room, is_new } =
                    gathered.map_err(|fault| (fault.code(), fault.to_string()))?;
                if is_new {
                    self.gatherings.count(peer, now);
                }
                self.known.add(peer, &room.word);
                let person = person.map(|token| self.reviews.person(&token, &name));
                Ok((room, Role::Student, Entrant::Join { name, listed, seat, person, group: None }))
            }
            Hello::Watch { word } => Ok((caller.find(&word)?, Role::Board, Entrant::Watch)),
        }
    }
}

/// One who wants to get in.
struct Caller<'a> {
    gate: &'a Gate,
    peer: IpAddr,
    now: Millis,
    /// Whether so much was wrong of late that only what is known here, or cannot be guessed, counts.
    must_wait: bool,
}

impl Caller<'_> {
    /// The room of a join word. While the address waits, a word that is right and one that is not
    /// are refused alike.
    fn find(&self, word: &JoinWord) -> Result<RoomHandle, Refusal> {
        let Gate { reviews, misses, knocks, known, .. } = self.gate;
        let (room, is_known) = (reviews.room(word), known.holds(self.peer, word));
        let may = !self.must_wait || is_known && !knocks.must_wait(self.peer, self.now);
        if let Some(room) = room.filter(|_| may) {
            known.add(self.peer, word);
            return Ok(room);
        }
        if !is_known {
            knocks.count(self.peer, self.now);
        }
        if self.must_wait {
            return Err(self.wait());
        }
        COUNTS.misses.one(Miss::Word);
        misses.count(self.peer, self.now);
        let why = format!("no review here is called {word}; check the join word");
        Err((ErrorCode::NoSuchReview, why))
    }

    /// A seat is found by its token. While the address waits the room says of a strange one what is
    /// said here of a wrong word.
    fn back(&self, word: &JoinWord, seat: SeatToken) -> Admitted {
        let waiting = self.gate.reviews.room(word).filter(|_| self.must_wait);
        let is_slowed = waiting.is_some();
        let room = waiting.map_or_else(|| self.find(word), Ok)?;
        Ok((room, Role::Student, Entrant::Return { seat, is_slowed }))
    }

    fn conduct(&self, word: Option<&JoinWord>, key: &HostKey) -> Admitted {
        let reviews = &self.gate.reviews;
        let is_hosts = reviews.is_host_key(key);
        let room = match word {
            Some(word) => {
                let room = reviews.room(word);
                let hash = TokenHash::of(key.reveal());
                let is_own = room.as_ref().is_some_and(|room| hash.matches(&room.key));
                if !(is_own | is_hosts) {
                    self.find(word)?;
                    return Err(self.wrong_key());
                }
                room.map_or_else(|| self.find(word), Ok)?
            }
            None if !is_hosts => return Err(self.wrong_key()),
            None => reviews.only_room().ok_or_else(|| {
                let why = "say which review by its join word: none or several are open";
                (ErrorCode::NoSuchReview, why.to_owned())
            })?,
        };
        self.gate.known.add(self.peer, &room.word);
        Ok((room, Role::Instructor, Entrant::Conduct { key: None }))
    }

    fn wrong_key(&self) -> Refusal {
        self.gate.knocks.count(self.peer, self.now);
        if self.must_wait {
            return self.wait();
        }
        COUNTS.misses.one(Miss::Key);
        self.gate.misses.count(self.peer, self.now);
        (ErrorCode::NotAllowed, "that key does not conduct this review".to_owned())
    }

    fn wait(&self) -> Refusal {
        oplog::reached(Limit::Misses, self.peer);
        (ErrorCode::SlowDown, WAIT.to_owned())
    }
}

fn clean_name(name: &str) -> Result<String, Refusal> {
    let why = "a name has 1 to 24 characters";
    names::clean(name).ok_or_else(|| {
        COUNTS.limits.one(Limit::Name);
        (ErrorCode::BadName, why.to_owned())
    })
}

fn clean_group(group: &str) -> Result<String, Refusal> {
    names::clean_group(group).ok_or_else(|| {
        COUNTS.limits.one(Limit::Group);
        (ErrorCode::BadField, "a group has 1 to 24 characters, or is left out".to_owned())
    })
}

#[cfg(test)]
mod tests {
    use myonym_wire::ReviewSettings;
    use myonym_wire::limits::close;

    use super::*;
    use crate::clock::Clock;
    use crate::reach::Reach;
    use crate::room::{ConnId, Line, LineEnd, Out, Post};
    use crate::secrets;
    use crate::store::SqliteLog;

    const SCHOOL: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 0, 2, 7));
    const ELSEWHERE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 0, 2, 8));
    const THEN: Millis = Millis(1_000);

    struct Scene {
        gate: Gate,
        /// A review that one student of the school has joined.
        class: RoomHandle,
        /// Another one, that nobody has.
        other: RoomHandle,
        key: HostKey,
        _folder: tempfile::TempDir,
    }

    fn scene() -> Scene {
        let folder = tempfile::tempdir().unwrap();
        let log = Arc::new(SqliteLog::open(folder.path()).unwrap());
        let key = secrets::host_key();
        let keys = vec![TokenHash::of(key.reveal())];
        let reviews = Reviews::new(log, Clock::start(), Reach::default(), keys, true).unwrap();
        let open = || reviews.open(&ReviewSettings::default(), None).unwrap().0;
        let (class, other) = (open(), open());
        let gate = Gate::new(reviews.clone());
        gate.admit(join(&class.word), SCHOOL, THEN).unwrap();
        Scene { gate, class, other, key, _folder: folder }
    }

    fn join(word: &JoinWord) -> Hello {
        let (word, name) = (word.clone(), "Mira".to_owned());
        Hello::Join { word, name, listed: false, seat: None, person: None, group: None }
    }

    impl Scene {
        fn guess(&self) -> Result<(), ErrorCode> {
            self.code(join(&"rib-rib".parse().unwrap()), SCHOOL)
        }

        fn code(&self, hello: Hello, peer: IpAddr) -> Result<(), ErrorCode> {
            self.gate.admit(hello, peer, THEN).map(|_| ()).map_err(|(code, _)| code)
        }

        fn conduct(&self, key: HostKey) -> Result<(), ErrorCode> {
            self.code(Hello::Conduct { word: Some(self.class.word.clone()), key }, SCHOOL)
        }
    }

    #[tokio::test]
    async fn guessing_is_slowed_and_keeps_nobody_of_the_class_out() {
        let scene = scene();
        for _ in 0..10 {
            assert_eq!(scene.guess(), Err(ErrorCode::NoSuchReview));
        }
        assert_eq!(scene.guess(), Err(ErrorCode::SlowDown));
        // Those of the class come in all the same, and who has a key.
        assert_eq!(scene.code(join(&scene.class.word), SCHOOL), Ok(()));
        let watch = Hello::Watch { word: scene.class.word.clone() };
        assert_eq!(scene.code(watch, SCHOOL), Ok(()));
        assert_eq!(scene.conduct(scene.key.clone()), Ok(()));
        assert_eq!(scene.conduct(secrets::host_key()), Err(ErrorCode::SlowDown));
        // A right word that nobody there has used is not told from a wrong one; elsewhere it is good.
        assert_eq!(scene.code(join(&scene.other.word), SCHOOL), Err(ErrorCode::SlowDown));
        assert_eq!(scene.code(join(&scene.other.word), ELSEWHERE), Ok(()));
        // Twenty seconds forgive one.
        let later = THEN.plus(Millis(20_000));
        assert!(scene.gate.admit(join(&scene.other.word), SCHOOL, later).is_ok());
    }

    #[tokio::test]
    async fn beyond_the_hard_bound_only_what_cannot_be_guessed_counts() {
        let scene = scene();
        for _ in 0..300 {
            assert!(scene.guess().is_err());
        }
        assert_eq!(scene.code(join(&scene.class.word), SCHOOL), Err(ErrorCode::SlowDown));
        assert_eq!(scene.conduct(scene.key.clone()), Ok(()));
        let back = Hello::Return {
            word: scene.class.word.clone(),
            seat: secrets::seat_token(secrets::bits()),
        };
        assert_eq!(scene.code(back, SCHOOL), Ok(()), "the room knows its tokens");
        let later = THEN.plus(Millis(200));
        assert!(scene.gate.admit(join(&scene.class.word), SCHOOL, later).is_ok());
    }

    /// What the room of the class says to an entrant: the type of its first message, and the code if
    /// it is a refusal.
    async fn told(scene: &Scene, number: u64, entrant: Entrant) -> (String, String, LineEnd) {
        let (line, mut end) = Line::queued();
        let post = Post::Enter { conn: ConnId(number), line, entrant: Box::new(entrant), at: THEN };
        assert!(scene.class.post(post).await);
        let Some(Out::Text(text)) = end.queue.recv().await else { panic!("nothing is told") };
        let told: serde_json::Value = serde_json::from_str(text.text()).unwrap();
        let text = |field: &str| told[field].as_str().unwrap_or_default().to_owned();
        (text("type"), text("code"), end)
    }

    /// 128 random bits: of 2^128 tokens, 100,000 tries against one seat find it with a chance below
    /// 10^-33, so a single hit shows that something else than the token was looked at.
    #[tokio::test]
    async fn a_hundred_thousand_random_tokens_take_no_seat() {
        let scene = scene();
        let own = secrets::seat_token(secrets::bits());
        let Hello::Join { word, .. } = join(&scene.class.word) else { panic!("no join") };
        let seated = Hello::Join {
            word: word.clone(),
            name: "Mira".to_owned(),
            listed: false,
            seat: Some(own.clone()),
            person: None,
            group: None,
        };
        let (_, _, entrant) = scene.gate.admit(seated, SCHOOL, THEN).unwrap();
        let (kind, _, _line) = told(&scene, 0, entrant).await;
        assert_eq!(kind, "seated");
        for number in 1..=100_000 {
            let seat = secrets::seat_token(secrets::bits());
            let back = Hello::Return { word: word.clone(), seat };
            let (_, _, entrant) = scene.gate.admit(back, ELSEWHERE, THEN).unwrap();
            let (kind, code, mut line) = told(&scene, number, entrant).await;
            assert_eq!((kind.as_str(), code.as_str()), ("error", "not_allowed"));
            assert!(matches!(line.queue.recv().await, Some(Out::Close(close::POLICY, REFUSED))));
        }
        // While the address waits, a strange token is answered as a wrong word is; the true one is not.
        (0..20).for_each(|_| assert!(scene.guess().is_err()));
        for (seat, want) in [(secrets::seat_token(secrets::bits()), "slow_down"), (own, "")] {
            let back = Hello::Return { word: word.clone(), seat };
            let (_, _, entrant) = scene.gate.admit(back, SCHOOL, THEN).unwrap();
            let (_, code, _line) = told(&scene, 200_000, entrant).await;
            assert_eq!(code, want);
        }
    }
}
