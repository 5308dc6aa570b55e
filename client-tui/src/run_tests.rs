//! The whole student's client without its terminal: loop, model, connection and kept seat against
//! a server on the loopback.

use std::io;
use std::sync::Arc;

use myonym_wire::*;
use ratatui::backend::TestBackend;
use ratatui::{Frame, Terminal};
use tokio::sync::{mpsc, watch};

use crate::app::{self, App, Cmd, Msg, Shown, World};
use crate::clock::Clock;
use crate::keys::Key;
use crate::net::Student;
use crate::net::tests::{Server, in_time};
use crate::seat_file::{SeatFolder, SeatPlace};
use crate::student::model::{Model, Own, Stage};
use crate::terminal::Input;
use crate::theme::Theme;
use crate::{Outcome, PlayOptions, samples};

/// A model whose drawings can be waited for.
struct Watched {
    model: Model,
    drawn: watch::Sender<Option<Model>>,
}

impl App for Watched {
    type Role = Student;

    fn update(&mut self, msg: Msg<ToStudent>) -> Vec<Cmd<FromStudent>> {
        self.model.update(msg)
    }

    fn view(&self, frame: &mut Frame<'_>) -> Shown {
        self.drawn.send_replace(Some(self.model.clone()));
        self.model.view(frame)
    }
}

/// A person at a terminal.
struct Person {
    keys: mpsc::Sender<io::Result<Input>>,
    drawn: watch::Receiver<Option<Model>>,
}

impl Person {
    async fn types(&self, keys: &str) {
        for c in keys.chars() {
            let key = match c {
                '\n' => Key::Enter,
                '\u{1b}' => Key::Esc,
                c => Key::Char(c),
            };
            self.keys.send(Ok(Input::Key(key))).await.unwrap();
        }
    }

    async fn sees(&mut self, what: impl Fn(&Stage) -> bool) {
        let seen = |model: &Option<Model>| {
            model.as_ref().and_then(Model::sitting).is_some_and(|sitting| what(&sitting.stage))
        };
        self.drawn.wait_for(seen).await.unwrap();
    }
}

/// Starts a client; gives the person and the run that ends when the person leaves.
fn client(server: &Server, seats: &SeatFolder) -> (Person, impl Future<Output = Outcome>) {
    let options = PlayOptions {
        link: Some(server.link()),
        name: Some("Ana".to_owned()),
        ..PlayOptions::default()
    };
    let (model, first) = Model::start(options, Theme::with_colour(true), 40, None);
    let (drawn, seen) = watch::channel(None);
    let (keys, mut input) = mpsc::channel(64);
    let world =
        World { clock: Clock::start(), seats: seats.clone(), guard: Arc::default(), jitter: || 0 };
    let run = async move {
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        let app = Watched { model, drawn };
        app::run(app, first, &mut terminal, &mut input, world).await.unwrap()
    };
    (Person { keys, drawn: seen }, run)
}

fn own(stage: &Stage) -> Option<&Own> {
    if let Stage::Round(screen) = stage { Some(&screen.own) } else { None }
}

fn is_recorded(stage: &Stage) -> bool {
    matches!(own(stage), Some(Own::Taken { recorded: true, .. }))
}

#[tokio::test]
async fn an_answer_that_was_lost_on_the_way_is_sent_again_once() {
    let server = Server::start().await;
    let folder = tempfile::tempdir().unwrap();
    let seats = SeatFolder::at(folder.path().to_owned());
    let (mut person, run) = client(&server, &seats);
    let seat = SeatToken::from_bits(9);
    let there = async {
        let mut peer = server.accept().await;
        assert!(matches!(peer.hear::<Hello>().await, Hello::Join { .. }));
        peer.say(&samples::seated(Some(seat.clone()), Moment::Gathering {})).await;
        peer.say(&samples::opened(3)).await;
        person.sees(|stage| own(stage).is_some()).await;
        person.types("teres minor\n").await;
        let lost: FromStudent = peer.hear().await;
        // Cut before a word of receipt.
        drop(peer);

        let mut peer = server.accept().await;
        let word = samples::review().word;
        assert_eq!(peer.hear::<Hello>().await, Hello::Return { word, seat: seat.clone() });
        peer.say(&samples::seated(None, samples::open_moment(3, None))).await;
        let again: FromStudent = peer.hear().await;
        assert_eq!(again, lost);
        let FromStudent::Answer { round, attempt, text, .. } = again else { panic!("{again:?}") };
        assert_eq!((round, text.as_str()), (RoundNo(3), "teres minor"));
        peer.say(&ToStudent::Received { round, attempt }).await;
        peer.say(&ToStudent::Recorded { round, attempt }).await;
        person.sees(is_recorded).await;
        // Cut once more: now there is nothing to send, so the next word is the goodbye.
        drop(peer);

        let mut peer = server.accept().await;
        peer.hear::<Hello>().await;
        let given = Given { attempt, text, recorded: true };
        peer.say(&samples::seated(None, samples::open_moment(3, Some(given)))).await;
        // A third clue tells that the person is seated again.
        peer.say(&samples::clue_shown(3, 3)).await;
        person.sees(|stage| is_recorded(stage) && clues(stage) == 3).await;
        person.types("\u{1b}\u{1b}").await;
        assert_eq!(peer.hear::<FromStudent>().await, FromStudent::Leave {});
        peer.closed().await;
    };
    let (outcome, ()) = in_time(Box::pin(async { tokio::join!(run, there) })).await;
    assert_eq!(outcome, Outcome::Left);
}

fn clues(stage: &Stage) -> usize {
    if let Stage::Round(screen) = stage { screen.open.clues.len() } else { 0 }
}

#[tokio::test]
async fn a_terminal_started_again_takes_the_same_seat() {
    let server = Server::start().await;
    let folder = tempfile::tempdir().unwrap();
    let seats = SeatFolder::at(folder.path().to_owned());
    let seat = SeatToken::from_bits(9);
    let word = samples::review().word;
    in_time(async {
        let (mut person, run) = client(&server, &seats);
        let there = async {
            let mut peer = server.accept().await;
            peer.hear::<Hello>().await;
            peer.say(&samples::seated(Some(seat.clone()), Moment::Gathering {})).await;
            person.sees(|stage| *stage == Stage::Waiting).await;
        };
        tokio::select! {
            // Dropped in the middle, as a killed terminal is.
            outcome = run => panic!("left: {outcome:?}"),
            () = there => {}
        }
        let (address, name) = (server.link().address, None);
        let place = SeatPlace { address, secure: false, word: word.clone(), name };
        assert_eq!(seats.find(&place).map(|kept| kept.seat), Some(seat.clone()));

        let (person, run) = client(&server, &seats);
        let there = async {
            let mut peer = server.accept().await;
            let hello = Hello::Return { word: word.clone(), seat: seat.clone() };
            assert_eq!(peer.hear::<Hello>().await, hello);
            person.types("\u{1b}").await;
        };
        tokio::select! {
            outcome = run => panic!("left: {outcome:?}"),
            () = there => {}
        }
    })
    .await;
}
