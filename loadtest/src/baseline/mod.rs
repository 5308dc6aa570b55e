//! Bare servers that play the same review: same messages, same bytes, nothing marked.
//!
//! Each opens, closes and reveals rounds as an instructor orders, and acknowledges each answer as
//! received and as recorded. What differs is what stands between them and the sockets: [`floor`] is
//! the least that speaks RFC 6455, [`frames`] the usual library, tuned. Each runs on one thread, and
//! keeps nothing; with a [`ledger`] it tells nobody what is not on disk, on a second thread.

mod floor;
mod frames;
mod ledger;

use std::collections::BTreeMap;
use std::fmt::Debug;
use std::io::{self, Read};
use std::net::SocketAddr;
use std::path::PathBuf;
use std::slice;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use anyhow::{Context, bail, ensure};
use myonym_wire::{
    FromInstructor, Hello, HostKey, JoinWord, Moment, RoundNo, Seq, ToInstructor, WeakSpots,
    decode, encode,
};
use tokio::net::{TcpListener, TcpSocket};
use tokio_rustls::TlsAcceptor;
use uuid::Uuid;

use self::floor::Floor;
use self::ledger::Ledger;
use crate::args::BaselineKind;
use crate::script::{Script, sample_review};
use crate::tls;

/// Rounds whose messages are made before any is opened.
const MADE_BEFORE: u16 = 100;
/// Each connection is pinged this often, as the server does it (`wire`'s limits).
const PING_EVERY: Duration = Duration::from_millis(myonym_wire::limits::PING_MS);

/// Serves on a free port of this machine, says where on standard output, and ends with its input.
pub(crate) async fn serve_until_input_ends(
    kind: BaselineKind,
    script: Option<PathBuf>,
    certificate: Option<PathBuf>,
    ledger: Option<PathBuf>,
) -> anyhow::Result<()> {
    let script = match script {
        Some(path) => Script::read(&path)?,
        None => Script::sample(300),
    };
    let secure = certificate.map(|folder| tls::acceptor(&folder)).transpose()?;
    let listener = listen().context("no free port")?;
    let key = HostKey::from_bits(Uuid::new_v4().as_u128());
    println!("address  {}", listener.local_addr()?);
    println!("word     {}", word(0));
    println!("key      {}", key.reveal());
    let input = tokio::task::spawn_blocking(|| io::stdin().read_to_end(&mut Vec::new()));
    tokio::select! {
        result = serve(kind, listener, (script, key), secure, ledger) => result,
        _ = input => Ok(()),
    }
}

/// A free port, where as many may wait to be accepted as at the server's.
fn listen() -> io::Result<TcpListener> {
    let socket = TcpSocket::new_v4()?;
    socket.bind(SocketAddr::from(([127, 0, 0, 1], 0)))?;
    socket.listen(1_024)
}

/// Serves reviews on every connection that comes, until dropped.
pub(crate) async fn serve(
    kind: BaselineKind,
    listener: TcpListener,
    (script, key): (Script, HostKey),
    secure: Option<TlsAcceptor>,
    ledger: Option<PathBuf>,
) -> anyhow::Result<()> {
    match kind {
        BaselineKind::Floor => {
            ensure!(secure.is_none(), "the floor speaks no TLS");
            let (floor, _stop) = Floor::new(listener.into_std()?, Hall::new(key, script, ledger)?)?;
            tokio::task::spawn_blocking(|| floor.run()).await?
        }
        BaselineKind::Frames => {
            frames::serve(listener, Arc::new(Hall::new(key, script, ledger)?), secure).await
        }
    }
}

/// Join word of a room, by its number: two words of letters.
pub(crate) fn word(room: usize) -> JoinWord {
    let letters: String = room.to_string().bytes().map(|digit| char::from(digit + 49)).collect();
    format!("radius-{letters}").parse().expect("digits made letters")
}

/// The way to one connection.
trait Peer: Debug + Send + Sync + 'static {
    /// A message as it is sent, made once for the whole room and cheap to clone.
    type Parcel: Debug + Clone + Send;
    /// Makes it.
    fn pack(text: &str) -> Self::Parcel;
    /// Sends it, or holds it until the connection takes more. Never waits.
    fn send(&self, parcel: &Self::Parcel);
}

/// Who is at the other end, and in which room.
#[derive(Debug, Clone, Copy)]
enum Seat {
    Student(usize),
    Instructor(usize),
}

/// All rooms.
#[derive(Debug)]
struct Hall<P: Peer> {
    key: HostKey,
    script: Script,
    /// Answer to a student's first message.
    seated: P::Parcel,
    ledger: Option<Ledger<P>>,
    state: Mutex<State<P>>,
}

#[derive(Debug)]
struct State<P: Peer> {
    rooms: Vec<Room<P>>,
    by_word: BTreeMap<JoinWord, usize>,
    /// The messages of each round, from the first.
    rounds: Vec<Round<P>>,
}

/// What a room is told in a round, made beforehand.
#[derive(Debug, Clone)]
struct Round<P: Peer> {
    opened: P::Parcel,
    skipped: P::Parcel,
    closed: P::Parcel,
    /// Revealed, result and standings.
    reveal: [P::Parcel; 3],
}

#[derive(Debug)]
struct Room<P: Peer> {
    peers: Vec<Arc<P>>,
    students: usize,
    round: usize,
    answered: usize,
}

impl<P: Peer> Hall<P> {
    fn new(key: HostKey, script: Script, ledger: Option<PathBuf>) -> anyhow::Result<Self> {
        let rounds = (1..=MADE_BEFORE).map(|round| Round::new(&script, RoundNo(round))).collect();
        let mut state = State { rooms: Vec::new(), by_word: BTreeMap::new(), rounds };
        state.add_room();
        let ledger = ledger.map(|path| Ledger::new(&path)).transpose()?;
        let (seated, state) = (P::pack(&script.seated), Mutex::new(state));
        Ok(Self { key, script, seated, ledger, state })
    }

    /// Whether it keeps what happens.
    fn keeps(&self) -> bool {
        self.ledger.is_some()
    }

    /// Tells some of what happened: at once, or when it is on disk.
    fn tell(&self, happened: &str, peers: &[Arc<P>], told: &P::Parcel) -> anyhow::Result<()> {
        if let Some(ledger) = &self.ledger {
            return ledger.keep(happened, peers.to_vec(), told);
        }
        for peer in peers {
            peer.send(told);
        }
        Ok(())
    }

    /// Takes a first message, answers it, and says who that is.
    fn greet(&self, text: &str, peer: &Arc<P>) -> anyhow::Result<Seat> {
        let mut state = self.state();
        let find = |wanted: &JoinWord, state: &State<P>| {
            state.by_word.get(wanted).copied().context("no such room")
        };
        let seat = match decode(text)? {
            Hello::Join { word, .. } => {
                let room = find(&word, &state)?;
                state.rooms[room].students += 1;
                Seat::Student(room)
            }
            Hello::Return { word, .. } => Seat::Student(find(&word, &state)?),
            Hello::Conduct { word: wanted, key } if key == self.key => {
                Seat::Instructor(wanted.map_or(Ok(0), |wanted| find(&wanted, &state))?)
            }
            Hello::Open { key, .. } if key == self.key => Seat::Instructor(state.add_room()),
            Hello::Conduct { .. } | Hello::Open { .. } => bail!("the key is not known"),
            Hello::Gather { .. } | Hello::Watch { .. } => bail!("a baseline does not do this"),
        };
        match seat {
            Seat::Student(_) => self.tell(text, slice::from_ref(peer), &self.seated)?,
            Seat::Instructor(room) => {
                self.tell(text, slice::from_ref(peer), &P::pack(&conducting(room)))?;
            }
        }
        let (Seat::Student(room) | Seat::Instructor(room)) = seat;
        state.rooms[room].peers.push(Arc::clone(peer));
        Ok(seat)
    }

    /// Does what an instructor orders.
    fn obey(&self, room: usize, text: &str) -> anyhow::Result<()> {
        let state = &mut *self.state();
        let (room, rounds) = (&mut state.rooms[room], &mut state.rounds);
        match decode(text)? {
            FromInstructor::Start {} | FromInstructor::Next {} => {
                room.round += 1;
                room.answered = 0;
                while rounds.len() < room.round {
                    let round = u16::try_from(rounds.len() + 1)?;
                    rounds.push(Round::new(&self.script, RoundNo(round)));
                }
                self.tell(text, &room.peers, &rounds[room.round - 1].opened)?;
            }
            FromInstructor::CloseRound {} => {
                self.tell(text, &room.peers, &room.open_round(rounds)?.closed)?;
            }
            FromInstructor::Skip {} => {
                self.tell(text, &room.peers, &room.open_round(rounds)?.skipped)?;
            }
            FromInstructor::Reveal {} => {
                for parcel in &room.open_round(rounds)?.reveal {
                    self.tell(text, &room.peers, parcel)?;
                }
            }
            FromInstructor::End {} => {}
            FromInstructor::Pause {}
            | FromInstructor::Resume {}
            | FromInstructor::Remove { .. }
            | FromInstructor::Rename { .. }
            | FromInstructor::Stretch { .. } => bail!("a baseline does not do this"),
        }
        Ok(())
    }

    /// Forgets a connection that has ended.
    fn leave(&self, seat: Seat, peer: &Arc<P>) {
        let (Seat::Student(room) | Seat::Instructor(room)) = seat;
        let peers = &mut self.state().rooms[room].peers;
        if let Some(at) = peers.iter().position(|other| Arc::ptr_eq(other, peer)) {
            peers.swap_remove(at);
        }
    }

    /// Counts an answer; the last of the class closes the round.
    fn count_answer(&self, room: usize) -> anyhow::Result<()> {
        let state = &mut *self.state();
        let room = &mut state.rooms[room];
        room.answered += 1;
        if room.answered == room.students {
            self.tell("all have answered", &room.peers, &room.open_round(&state.rounds)?.closed)?;
        }
        Ok(())
    }

    fn state(&self) -> MutexGuard<'_, State<P>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<P: Peer> State<P> {
    fn add_room(&mut self) -> usize {
        let number = self.rooms.len();
        self.rooms.push(Room { peers: Vec::new(), students: 0, round: 0, answered: 0 });
        self.by_word.insert(word(number), number);
        number
    }
}

impl<P: Peer> Round<P> {
    fn new(script: &Script, round: RoundNo) -> Self {
        let [opened, skipped, closed, reveal @ ..] = script.at(round).map(|text| P::pack(&text));
        Self { opened, skipped, closed, reveal }
    }
}

impl<P: Peer> Room<P> {
    fn open_round<'a>(&self, rounds: &'a [Round<P>]) -> anyhow::Result<&'a Round<P>> {
        let number = self.round.checked_sub(1).context("no round is open")?;
        rounds.get(number).context("no round is open")
    }
}

fn conducting(room: usize) -> String {
    encode(&ToInstructor::Conducting {
        seq: Seq(1),
        key: None,
        review: sample_review(word(room)),
        addresses: Vec::new(),
        secure: false,
        moment: Box::new(Moment::Gathering {}),
        roll: Vec::new(),
        weak_spots: WeakSpots::default(),
        coming: None,
    })
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::args::{Load, ServerChoice};
    use crate::conduct::{self, Outcome, Target};
    use crate::measure::Counts;
    use crate::plan::Arrivals;

    fn load(rooms: usize) -> Load {
        Load {
            rooms,
            students: 10,
            rounds: 2,
            runs: 1,
            window: Duration::from_millis(50),
            arrivals: Arrivals::Spread,
            seed: 1,
            most: Duration::from_mins(1),
            server: ServerChoice::Built,
            json: None,
        }
    }

    /// A whole run of clients against a baseline in this process.
    async fn run(kind: BaselineKind, load: Load) -> Outcome {
        run_by(kind, load, None, None).await
    }

    /// The same, by TLS with the certificate of a folder, or with a ledger.
    async fn run_by(
        kind: BaselineKind,
        load: Load,
        certificate: Option<&Path>,
        ledger: Option<PathBuf>,
    ) -> Outcome {
        let trust = certificate.map(|folder| tls::trust(folder).unwrap());
        let secure = certificate.map(|folder| tls::acceptor(folder).unwrap());
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let key = HostKey::from_bits(1);
        let address = listener.local_addr().unwrap();
        let target = Target { address, key: key.clone(), pid: None, trust };
        let server = serve(kind, listener, (Script::sample(load.students), key), secure, ledger);
        let clients = tokio::task::spawn_blocking(move || conduct::run(&target, &load, || ()));
        tokio::select! {
            outcome = clients => outcome.unwrap().unwrap(),
            ended = server => panic!("the baseline ended: {ended:?}"),
        }
    }

    async fn check(kind: BaselineKind, rooms: usize, keeps: bool) {
        let folder = tempfile::tempdir().unwrap();
        let ledger = keeps.then(|| folder.path().join("ledger"));
        let outcome = run_by(kind, load(rooms), None, ledger).await;
        let answers = 2 * 10 * rooms as u64;
        let Counts { bytes, .. } = outcome.counts;
        let want = Counts {
            planned: answers,
            sent: answers,
            received: answers,
            recorded: answers,
            // Opened, received, recorded, closed, revealed, result and standings.
            messages: 7 * answers,
            bytes,
            ..Counts::default()
        };
        assert_eq!(outcome.counts, want, "{kind:?}, {rooms} rooms, keeps: {keeps}");
        assert_eq!(outcome.first_refusal, None);
    }

    #[tokio::test]
    async fn every_answer_is_acknowledged_exactly_once() {
        for kind in [BaselineKind::Floor, BaselineKind::Frames] {
            for keeps in [false, true] {
                check(kind, 1, keeps).await;
                check(kind, 3, keeps).await;
            }
        }
    }

    #[tokio::test]
    async fn both_baselines_tell_the_same_bytes() {
        let floor = run(BaselineKind::Floor, load(1)).await;
        let frames = run(BaselineKind::Frames, load(1)).await;
        assert_eq!(floor.counts, frames.counts);
    }

    #[tokio::test]
    async fn by_tls_the_same_is_told_to_who_believes_the_certificate() {
        let folder = tempfile::tempdir().unwrap();
        let key = rcgen::KeyPair::generate().unwrap();
        let params = rcgen::CertificateParams::new(["127.0.0.1".to_owned()]).unwrap();
        let certificate = params.self_signed(&key).unwrap().pem();
        std::fs::write(folder.path().join(tls::CERTIFICATE), certificate).unwrap();
        std::fs::write(folder.path().join(tls::KEY), key.serialize_pem()).unwrap();
        let secure = run_by(BaselineKind::Frames, load(2), Some(folder.path()), None).await;
        let clear = run(BaselineKind::Frames, load(2)).await;
        assert_eq!(secure.counts, clear.counts);
    }

    #[test]
    fn each_room_has_its_own_join_word() {
        assert_eq!(word(0).as_str(), "radius-a");
        assert_eq!(word(27).as_str(), "radius-ch");
    }
}
