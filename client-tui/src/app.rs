//! The loop that joins a model to the world: keys and messages go in, screens and effects come
//! out. The models themselves do no input or output and read no clock.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use myonym_wire::Millis;
use ratatui::backend::Backend;
use ratatui::{Frame, Terminal};
use tokio::sync::mpsc;
use tokio::time::{MissedTickBehavior, interval};

use crate::clock::Clock;
use crate::keys::Key;
use crate::net::{Call, Closed, Connection, Guard, News, Role};
use crate::seat_file::{KeptSeat, SeatFolder, SeatPlace};
use crate::terminal::Input;
use crate::{Error, Outcome};

/// What happens to a model.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Msg<M> {
    /// The time is now this. Comes before every other message, and ten times a second.
    Tick(Millis),
    /// The screen was drawn.
    Drawn {
        /// When.
        now: Millis,
        /// What the drawing found out.
        shown: Shown,
    },
    /// A key was pressed.
    Key(Key),
    /// Text was pasted.
    Paste(String),
    /// The connection has news.
    News(News<M>),
    /// The answer to [`Cmd::LookForSeat`].
    Seat(Option<KeptSeat>),
}

/// What a model wants done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Cmd<S> {
    /// Connect, in place of any connection that there is.
    Connect(Call),
    /// Give the connection up.
    HangUp,
    /// Say a message to the server.
    Say(S),
    /// Look for a kept seat; the answer is [`Msg::Seat`].
    LookForSeat(SeatPlace),
    /// Keep a seat.
    KeepSeat(SeatPlace, KeptSeat),
    /// Forget a kept seat.
    ForgetSeat(SeatPlace),
    /// Leave the screens.
    Quit(Outcome),
}

/// What only the drawing can know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Shown {
    /// How many lines the page can be moved, given the size of the window.
    pub(crate) scroll_end: u16,
}

/// A model with its update and its view.
pub(crate) trait App {
    /// The kind of client.
    type Role: Role;

    /// Takes in what happened and says what to do. Does no input or output.
    fn update(&mut self, msg: Msg<Heard<Self>>) -> Vec<Cmd<Said<Self>>>;

    /// Draws the model.
    fn view(&self, frame: &mut Frame<'_>) -> Shown;
}

/// What the server says to an app.
pub(crate) type Heard<A> = <<A as App>::Role as Role>::Heard;
/// What an app says to the server.
pub(crate) type Said<A> = <<A as App>::Role as Role>::Said;

/// What a model's commands act upon.
#[derive(Debug)]
pub(crate) struct World {
    /// The clock.
    pub(crate) clock: Clock,
    /// Where seats are kept.
    pub(crate) seats: SeatFolder,
    /// Lets connections through.
    pub(crate) guard: Arc<Guard>,
    /// Draws evenly from all of `u32`.
    pub(crate) jitter: fn() -> u32,
}

/// Runs a model until it wants to leave.
pub(crate) async fn run<A: App, B: Backend>(
    mut app: A,
    first: Vec<Cmd<Said<A>>>,
    terminal: &mut Terminal<B>,
    input: &mut mpsc::Receiver<io::Result<Input>>,
    world: World,
) -> Result<Outcome, Error>
where
    B::Error: Send + Sync + 'static,
{
    let mut hands = Hands::<A::Role> { world, connection: None };
    let mut beat = interval(BEAT);
    beat.set_missed_tick_behavior(MissedTickBehavior::Skip);
    app.update(Msg::Tick(hands.world.clock.now()));
    let mut quit = hands.perform(&mut app, first);
    loop {
        if let Some(outcome) = quit {
            hands.let_go().await;
            return Ok(outcome);
        }
        let mut shown = Shown::default();
        terminal
            .draw(|frame| shown = app.view(frame))
            .map_err(|error| Error::Terminal(io::Error::other(error)))?;
        app.update(Msg::Drawn { now: hands.world.clock.now(), shown });
        let msg = tokio::select! {
            input = input.recv() => of_input(input)?,
            news = hands.news() => Some(Msg::News(news)),
            _ = beat.tick() => None,
        };
        let mut wanted = app.update(Msg::Tick(hands.world.clock.now()));
        if let Some(msg) = msg {
            wanted.extend(app.update(msg));
        }
        quit = hands.perform(&mut app, wanted);
    }
}

fn of_input<M>(input: Option<io::Result<Input>>) -> Result<Option<Msg<M>>, Error> {
    match input {
        Some(Ok(Input::Key(key))) => Ok(Some(Msg::Key(key))),
        Some(Ok(Input::Paste(text))) => Ok(Some(Msg::Paste(text))),
        Some(Ok(Input::Resized)) => Ok(None),
        Some(Err(error)) => Err(Error::Terminal(error)),
        None => Err(Error::Terminal(io::ErrorKind::UnexpectedEof.into())),
    }
}

/// Does what a model wants.
struct Hands<R: Role> {
    world: World,
    connection: Option<Connection<R>>,
}

impl<R: Role> Hands<R> {
    /// Does all commands, and those that follow from them; gives the outcome if one is to leave.
    fn perform<A: App<Role = R>>(
        &mut self,
        app: &mut A,
        mut wanted: Vec<Cmd<R::Said>>,
    ) -> Option<Outcome> {
        while !wanted.is_empty() {
            for cmd in std::mem::take(&mut wanted) {
                match cmd {
                    Cmd::Connect(call) => {
                        self.hang_up();
                        let World { guard, jitter, .. } = &self.world;
                        self.connection = Some(Connection::open(call, guard.clone(), *jitter));
                    }
                    Cmd::HangUp => self.hang_up(),
                    Cmd::Say(message) => {
                        self.connection.iter().for_each(|line| line.say(message.clone()));
                    }
                    Cmd::LookForSeat(place) => {
                        wanted.extend(app.update(Msg::Seat(self.world.seats.find(&place))));
                    }
                    Cmd::KeepSeat(place, seat) => self.world.seats.keep(&place, seat),
                    Cmd::ForgetSeat(place) => self.world.seats.forget(&place),
                    Cmd::Quit(outcome) => return Some(outcome),
                }
            }
        }
        None
    }

    fn hang_up(&mut self) {
        if let Some(old) = self.connection.take() {
            tokio::spawn(old.stop());
        }
    }

    async fn let_go(&mut self) {
        if let Some(old) = self.connection.take() {
            old.stop().await;
        }
    }

    /// The next news; waits for ever without a connection.
    async fn news(&mut self) -> News<R::Heard> {
        let Some(connection) = &mut self.connection else { return std::future::pending().await };
        let news = connection.news().await.unwrap_or_else(|| {
            // The task ended without a word: it panicked.
            News::Closed(Closed::Unusable("the connection failed; start again".to_owned()))
        });
        if matches!(news, News::Closed(_)) {
            self.connection = None;
        }
        news
    }
}

/// Ten times a second is enough for a count of seconds to look even.
const BEAT: Duration = Duration::from_millis(100);
