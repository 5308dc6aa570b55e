//! Two bare servers that play the same review: same messages, same bytes, nothing kept or marked.
//!
//! Both open, close and reveal rounds as an instructor orders, and acknowledge each answer as
//! received and as recorded. What differs is what stands between them and the sockets: [`floor`] is
//! the least that speaks RFC 6455, [`frames`] the usual library, tuned. Each runs on one thread.

mod floor;
mod frames;

use std::fmt::Debug;
use std::io::{self, Read};
use std::net::SocketAddr;
use std::path::PathBuf;
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
use crate::args::BaselineKind;
use crate::script::{Script, sample_review};
use crate::tls;

/// Each connection is pinged this often, as the server does it (`wire`'s limits).
const PING_EVERY: Duration = Duration::from_millis(myonym_wire::limits::PING_MS);

/// Serves on a free port of this machine, says where on standard output, and ends with its input.
pub(crate) async fn serve_until_input_ends(
    kind: BaselineKind,
    script: Option<PathBuf>,
    certificate: Option<PathBuf>,
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
        result = serve(kind, listener, (script, key), secure) => result,
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
) -> anyhow::Result<()> {
    match kind {
        BaselineKind::Floor => {
            ensure!(secure.is_none(), "the floor speaks no TLS");
            let (floor, _stop) = Floor::new(listener.into_std()?, Hall::new(key, script))?;
            tokio::task::spawn_blocking(|| floor.run()).await?
        }
        BaselineKind::Frames => {
            frames::serve(listener, Arc::new(Hall::new(key, script)), secure).await
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
    rooms: Mutex<Vec<Room<P>>>,
}

#[derive(Debug)]
struct Room<P: Peer> {
    peers: Vec<Arc<P>>,
    students: usize,
    round: RoundNo,
    answered: usize,
    /// Closed, revealed, result and standings of the open round, ready to be sent.
    ready: Vec<P::Parcel>,
    /// That the open round does not count.
    skipped: Option<P::Parcel>,
}

impl<P: Peer> Hall<P> {
    fn new(key: HostKey, script: Script) -> Self {
        Self { key, script, rooms: Mutex::new(vec![Room::new()]) }
    }

    /// Takes a first message, answers it, and says who that is.
    fn greet(&self, text: &str, peer: &Arc<P>) -> anyhow::Result<Seat> {
        let mut rooms = self.rooms();
        let find = |wanted: &JoinWord| (0..rooms.len()).find(|room| word(*room) == *wanted);
        let (seat, reply) = match decode(text)? {
            Hello::Join { word, .. } => {
                let room = find(&word).context("no such room")?;
                rooms[room].students += 1;
                (Seat::Student(room), self.script.seated.clone())
            }
            Hello::Conduct { word: wanted, key } if key == self.key => {
                let room =
                    wanted.map_or(Some(0), |wanted| find(&wanted)).context("no such room")?;
                (Seat::Instructor(room), conducting(room))
            }
            Hello::Open { key, .. } if key == self.key => {
                rooms.push(Room::new());
                (Seat::Instructor(rooms.len() - 1), conducting(rooms.len() - 1))
            }
            Hello::Conduct { .. } | Hello::Open { .. } => bail!("the key is not known"),
            Hello::Return { word, .. } => {
                let room = find(&word).context("no such room")?;
                (Seat::Student(room), self.script.seated.clone())
            }
            Hello::Gather { .. } | Hello::Watch { .. } => bail!("a baseline does not do this"),
        };
        peer.send(&P::pack(&reply));
        let (Seat::Student(room) | Seat::Instructor(room)) = seat;
        rooms[room].peers.push(Arc::clone(peer));
        Ok(seat)
    }

    /// Does what an instructor orders.
    fn obey(&self, room: usize, text: &str) -> anyhow::Result<()> {
        let mut rooms = self.rooms();
        let room = &mut rooms[room];
        match decode(text)? {
            FromInstructor::Start {} | FromInstructor::Next {} => room.open(&self.script),
            FromInstructor::CloseRound {} => room.close(),
            FromInstructor::Reveal {} => room.reveal(),
            FromInstructor::End {} => {}
            FromInstructor::Skip {} => room.skip(),
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
        let peers = &mut self.rooms()[room].peers;
        if let Some(at) = peers.iter().position(|other| Arc::ptr_eq(other, peer)) {
            peers.swap_remove(at);
        }
    }

    /// Counts an answer; the last of the class closes the round.
    fn count_answer(&self, room: usize) {
        let mut rooms = self.rooms();
        let room = &mut rooms[room];
        room.answered += 1;
        if room.answered == room.students {
            room.close();
        }
    }

    fn rooms(&self) -> MutexGuard<'_, Vec<Room<P>>> {
        self.rooms.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<P: Peer> Room<P> {
    fn new() -> Self {
        Self {
            peers: Vec::new(),
            students: 0,
            round: RoundNo(0),
            answered: 0,
            ready: Vec::new(),
            skipped: None,
        }
    }

    fn open(&mut self, script: &Script) {
        self.round = RoundNo(self.round.0 + 1);
        self.answered = 0;
        let [opened, skipped, rest @ ..] = script.at(self.round);
        self.ready = rest.iter().map(|text| P::pack(text)).collect();
        self.skipped = Some(P::pack(&skipped));
        self.tell(&P::pack(&opened));
    }

    fn close(&self) {
        if let Some(closed) = self.ready.first() {
            self.tell(closed);
        }
    }

    fn skip(&self) {
        if let Some(skipped) = &self.skipped {
            self.tell(skipped);
        }
    }

    fn reveal(&self) {
        for parcel in self.ready.iter().skip(1) {
            self.tell(parcel);
        }
    }

    fn tell(&self, parcel: &P::Parcel) {
        for peer in &self.peers {
            peer.send(parcel);
        }
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
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let key = HostKey::from_bits(1);
        let address = listener.local_addr().unwrap();
        let target = Target { address, key: key.clone(), pid: None, trust: None };
        let server = serve(kind, listener, (Script::sample(load.students), key), None);
        let clients = tokio::task::spawn_blocking(move || conduct::run(&target, &load, || ()));
        tokio::select! {
            outcome = clients => outcome.unwrap().unwrap(),
            ended = server => panic!("the baseline ended: {ended:?}"),
        }
    }

    async fn check(kind: BaselineKind, rooms: usize) {
        let outcome = run(kind, load(rooms)).await;
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
        assert_eq!(outcome.counts, want, "{kind:?}, {rooms} rooms");
        assert_eq!(outcome.first_refusal, None);
    }

    #[tokio::test]
    async fn every_answer_is_acknowledged_exactly_once() {
        for kind in [BaselineKind::Floor, BaselineKind::Frames] {
            check(kind, 1).await;
            check(kind, 3).await;
        }
    }

    #[tokio::test]
    async fn both_baselines_tell_the_same_bytes() {
        let floor = run(BaselineKind::Floor, load(1)).await;
        let frames = run(BaselineKind::Frames, load(1)).await;
        assert_eq!(floor.counts, frames.counts);
    }

    #[test]
    fn each_room_has_its_own_join_word() {
        assert_eq!(word(0).as_str(), "radius-a");
        assert_eq!(word(27).as_str(), "radius-ch");
    }
}
