//! The clients: students who answer when their answer is due, and the instructors' consoles.

use std::sync::Arc;
use std::time::Instant;

use anyhow::{Context, bail, ensure};
use myonym_wire::{
    AttemptId, FromInstructor, FromStudent, Hello, JoinWord, RoundNo, ToInstructor, decode, encode,
};
use tokio::select;
use tokio::sync::{Semaphore, mpsc};
use uuid::Uuid;

use crate::conduct::Target;
use crate::heard::Heard;
use crate::link::Link;
use crate::measure::{Ack, Book, Desk, Step, micros};

/// Students that join at the same time.
pub(crate) const JOINING_AT_ONCE: usize = 64;

/// What the students answer, in turn: the four muscles of the rotator cuff.
const ANSWERS: [&str; 4] = ["teres minor", "infraspinatus", "supraspinatus", "subscapularis"];

/// An answer that is due.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Order {
    /// The round to answer.
    pub(crate) round: RoundNo,
    /// The planned instant.
    pub(crate) planned: Instant,
}

/// One student.
#[derive(Debug)]
pub(crate) struct Student {
    /// Index among all students.
    index: usize,
    /// Index of the room.
    room: usize,
    /// Where to write down what is seen.
    desk: Arc<Desk>,
    /// The answer under way.
    attempt: Option<Attempt>,
    /// When the open round's first clue was heard.
    opened: Option<Instant>,
}

/// An answer that was sent, and what became of it.
#[derive(Debug, Clone, Copy)]
struct Attempt {
    id: AttemptId,
    planned: Instant,
    received: bool,
    recorded: bool,
    refused: bool,
}

impl Student {
    /// A student who has not joined yet.
    pub(crate) fn new(index: usize, room: usize, desk: Arc<Desk>) -> Self {
        Self { index, room, desk, attempt: None, opened: None }
    }

    /// Joins, and answers as ordered until `orders` ends or the review does.
    pub(crate) async fn attend(
        mut self,
        target: Target,
        word: JoinWord,
        gate: Arc<Semaphore>,
        mut orders: mpsc::Receiver<Order>,
    ) {
        let name = format!("student {:03}", self.index + 1);
        let joined = {
            let _turn = gate.acquire().await;
            self.join(&target, word, name.clone()).await
        };
        let mut link = match joined {
            Ok(link) => link,
            Err(error) => {
                return self.desk.note(|book| book.trouble(format!("{name}: {error:#}")));
            }
        };
        if let Err(error) = self.answer_and_listen(&mut link, &mut orders).await {
            self.desk.note(|book| book.lose(format!("{name}: {error:#}")));
        }
    }

    async fn join(&self, target: &Target, word: JoinWord, name: String) -> anyhow::Result<Link> {
        let began = Instant::now();
        let hello = Hello::Join { word, name, listed: true, seat: None, person: None, group: None };
        let mut link = Link::open(target.address, target.framing, &hello).await?;
        loop {
            let text = link.hear().await?.context("the server closed before it gave a seat")?;
            let heard = Heard::read(&text)?;
            if let Heard::Refused(why) = heard {
                bail!("the server refused the seat: {why}");
            }
            if heard == Heard::Seated {
                self.desk.note(|book| {
                    book.script.learn(&heard, &text);
                    book.tally.joins.saturating_record(micros(began.elapsed()));
                    book.step(Step::Seated);
                });
                return Ok(link);
            }
        }
    }

    async fn answer_and_listen(
        &mut self,
        link: &mut Link,
        orders: &mut mpsc::Receiver<Order>,
    ) -> anyhow::Result<()> {
        loop {
            select! {
                order = orders.recv() => match order {
                    Some(order) => self.answer(link, order).await?,
                    None => return Ok(()),
                },
                text = link.hear() => {
                    let text = text?.context("the server closed the connection")?;
                    let heard = Heard::read(&text)?;
                    if heard == Heard::Ended {
                        return Ok(());
                    }
                    self.listen(heard, &text);
                }
            }
        }
    }

    async fn answer(&mut self, link: &mut Link, order: Order) -> anyhow::Result<()> {
        let Order { round, planned } = order;
        let id = AttemptId(Uuid::new_v4());
        let seen = self.opened.map(|opened| planned.saturating_duration_since(opened));
        let text = ANSWERS[self.index % ANSWERS.len()].to_owned();
        let elapsed_ms = seen.map_or(0, |seen| micros(seen) / 1_000);
        self.attempt = Some(Attempt::new(id, planned));
        link.say(encode(&FromStudent::Answer { round, attempt: id, text, elapsed_ms })).await?;
        self.desk.note(|book| {
            book.tally.lag.saturating_record(micros(planned.elapsed()));
            book.tally.counts.sent += 1;
        });
        Ok(())
    }

    fn listen(&mut self, heard: Heard, text: &str) {
        let now = Instant::now();
        self.desk.note(|book| {
            book.tally.heard(text.len());
            if self.index == 0 {
                book.script.learn(&heard, text);
            }
            match heard {
                Heard::RoundOpened(round) => {
                    self.opened = Some(now);
                    book.tally.clue(self.room, round, 1, now);
                    book.step(Step::Opened);
                }
                Heard::Clue(round, number) => book.tally.clue(self.room, round, number, now),
                Heard::Received(id) => acknowledge(&mut self.attempt, book, Ack::Received, id, now),
                Heard::Recorded(id) => acknowledge(&mut self.attempt, book, Ack::Recorded, id, now),
                Heard::AskedAgain(_) => {
                    refuse(&mut self.attempt, book, "a name was not understood".to_owned());
                }
                Heard::Refused(why) => refuse(&mut self.attempt, book, why),
                Heard::Standings => book.step(Step::Told),
                Heard::Seated
                | Heard::RoundClosed
                | Heard::Revealed
                | Heard::Result
                | Heard::Ended
                | Heard::Other => {}
            }
        });
    }
}

impl Attempt {
    fn new(id: AttemptId, planned: Instant) -> Self {
        Self { id, planned, received: false, recorded: false, refused: false }
    }

    /// Takes an acknowledgement: whether it is the first of its kind.
    fn take(&mut self, ack: Ack) -> bool {
        let known = match ack {
            Ack::Received => &mut self.received,
            Ack::Recorded => &mut self.recorded,
        };
        !std::mem::replace(known, true)
    }
}

/// Each answer is to be acknowledged once in each way; anything more is counted as surplus.
fn acknowledge(
    attempt: &mut Option<Attempt>,
    book: &mut Book,
    ack: Ack,
    id: AttemptId,
    now: Instant,
) {
    let own = attempt.as_mut().filter(|attempt| attempt.id == id);
    let Some(planned) = own.and_then(|own| own.take(ack).then_some(own.planned)) else {
        book.tally.counts.surplus += 1;
        return;
    };
    book.tally.acknowledged(ack, now.saturating_duration_since(planned));
    if ack == Ack::Recorded {
        book.step(Step::Answered);
    }
}

/// A refusal speaks of the answer under way, if there is one.
fn refuse(attempt: &mut Option<Attempt>, book: &mut Book, why: String) {
    book.tally.first_refusal.get_or_insert(why);
    if let Some(attempt) = attempt.as_mut().filter(|a| !a.recorded && !a.refused) {
        attempt.refused = true;
        book.tally.counts.refused += 1;
        book.step(Step::Answered);
    }
}

/// Takes a review in hand, or opens one.
///
/// # Errors
/// The server refused, or the review has fewer than `rounds` rounds.
pub(crate) async fn open_console(
    target: &Target,
    hello: &Hello,
    rounds: u16,
) -> anyhow::Result<(Link, JoinWord)> {
    let mut link = Link::open(target.address, target.framing, hello).await?;
    loop {
        let text = link.hear().await?.context("the server closed before a review was given")?;
        let message: ToInstructor = decode(&text)?;
        if let ToInstructor::Error { message, .. } = message {
            bail!("the server refused the instructor: {message}");
        }
        if let ToInstructor::Conducting { review, .. } = message {
            ensure!(
                review.rounds >= rounds,
                "the review `{}` has {} rounds and this load takes {rounds}: \
                 ask for fewer --rounds, or a longer muscle list",
                review.word,
                review.rounds
            );
            return Ok((link, review.word));
        }
    }
}

/// Conducts one room as ordered, until `orders` ends or the review does.
pub(crate) async fn conduct_room(
    mut link: Link,
    mut orders: mpsc::Receiver<FromInstructor>,
    desk: Arc<Desk>,
) {
    if let Err(error) = order_and_listen(&mut link, &mut orders, &desk).await {
        desk.note(|book| book.trouble(format!("an instructor: {error:#}")));
    }
}

async fn order_and_listen(
    link: &mut Link,
    orders: &mut mpsc::Receiver<FromInstructor>,
    desk: &Desk,
) -> anyhow::Result<()> {
    loop {
        select! {
            order = orders.recv() => match order {
                Some(order) => link.say(encode(&order)).await?,
                None => return Ok(()),
            },
            text = link.hear() => {
                let text = text?.context("the server closed the connection")?;
                match Heard::read(&text)? {
                    Heard::RoundClosed => desk.note(|book| book.step(Step::Closed)),
                    Heard::Refused(why) => bail!("the server refused an order: {why}"),
                    Heard::Ended => {
                        ensure!(desk.note(|book| book.ending), "the review ended too early");
                        return Ok(());
                    }
                    Heard::Seated
                    | Heard::RoundOpened(_)
                    | Heard::Clue(..)
                    | Heard::Received(_)
                    | Heard::Recorded(_)
                    | Heard::AskedAgain(_)
                    | Heard::Revealed
                    | Heard::Result
                    | Heard::Standings
                    | Heard::Other => {}
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Counts;

    fn id(number: u128) -> AttemptId {
        AttemptId(Uuid::from_u128(number))
    }

    /// What one student counts who sent attempt 1 and hears this.
    fn check(heard: &[Heard], want: Counts) {
        let desk = Arc::new(Desk::new(1, 1));
        let mut student = Student::new(0, 0, Arc::clone(&desk));
        student.attempt = Some(Attempt::new(id(1), Instant::now()));
        for heard in heard {
            student.listen(heard.clone(), "");
        }
        let counts = desk.take().counts;
        assert_eq!(Counts { messages: 0, ..counts }, want, "{heard:?}");
    }

    #[test]
    fn each_answer_is_acknowledged_once() {
        let received = || Heard::Received(id(1));
        let recorded = || Heard::Recorded(id(1));
        let refused = || Heard::Refused("too late".to_owned());
        let once = Counts { received: 1, recorded: 1, ..Counts::default() };
        check(&[received(), recorded()], once);
        check(&[received(), recorded(), recorded()], Counts { surplus: 1, ..once });
        check(&[received(), received(), recorded()], Counts { surplus: 1, ..once });
        check(&[Heard::Received(id(2))], Counts { surplus: 1, ..Counts::default() });
        check(&[refused()], Counts { refused: 1, ..Counts::default() });
        check(&[refused(), refused()], Counts { refused: 1, ..Counts::default() });
        check(&[Heard::AskedAgain(id(1))], Counts { refused: 1, ..Counts::default() });
        check(&[received(), recorded(), refused()], once);
    }
}
