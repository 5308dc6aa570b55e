//! Students and instructors.

use std::net::SocketAddr;

use anyhow::{Context as _, Result, ensure};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::client::Client;
use crate::schema::Role;

/// What a student keeps to come back with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seat {
    /// The join word.
    pub word: String,
    /// The student's number.
    pub id: String,
    /// The seat token.
    pub token: String,
    /// The name as the server has it.
    pub name: String,
}

/// A student with a seat and a connection.
#[derive(Debug)]
pub struct Student {
    /// The connection.
    pub client: Client,
    /// The seat.
    pub seat: Seat,
    /// What was said on coming in.
    pub seated: Value,
}

/// A board's connection.
#[derive(Debug)]
pub struct Board {
    /// The connection.
    pub client: Client,
    /// What was said on coming in.
    pub watching: Value,
}

/// An instructor's connection.
#[derive(Debug)]
pub struct Instructor {
    /// The connection.
    pub client: Client,
    /// What was said on coming in.
    pub conducting: Value,
}

impl Seat {
    /// Comes back to the seat. The server must know it as the same.
    pub async fn take(&self, address: SocketAddr) -> Result<Student> {
        let mut client = Client::open(address, Role::Student).await?;
        let hello = json!({ "type": "return", "word": self.word, "seat": self.token });
        client.hello(hello).await?;
        let seated = client.expect("seated").await?;
        ensure!(seated["student"] == self.id.as_str(), "another seat: {seated}");
        ensure!(seated["name"] == self.name.as_str(), "another name: {seated}");
        ensure!(seated["seat"].is_null(), "the token was told again");
        Ok(Student { client, seat: self.clone(), seated })
    }
}

impl Student {
    /// Takes a seat; the name may be shown in the standings.
    pub async fn join(address: SocketAddr, word: &str, name: &str) -> Result<Self> {
        Self::join_as(address, word, name, true).await
    }

    /// Takes a seat, listed in the standings or not.
    pub async fn join_as(
        address: SocketAddr,
        word: &str,
        name: &str,
        listed: bool,
    ) -> Result<Self> {
        let mut client = Client::open(address, Role::Student).await?;
        let hello = json!({ "type": "join", "word": word, "name": name, "listed": listed });
        client.hello(hello).await?;
        Self::seated(client, word).await
    }

    /// Opens a study group and takes the first seat in it.
    pub async fn gather(address: SocketAddr, name: &str, settings: Value) -> Result<Self> {
        let mut client = Client::open(address, Role::Student).await?;
        let gather =
            json!({ "type": "gather", "settings": settings, "name": name, "listed": true });
        client.hello(gather).await?;
        let mut student = Self::seated(client, "").await?;
        let word = student.seated["review"]["word"].as_str().context("no join word")?;
        word.clone_into(&mut student.seat.word);
        Ok(student)
    }

    /// Votes in a study group, or takes the vote back.
    pub async fn vote(&mut self, motion: &str, yes: bool) -> Result<()> {
        self.client.say(json!({ "type": "vote", "motion": motion, "yes": yes })).await
    }

    /// Waits until the votes stand so: motion, for it, and needed.
    pub async fn expect_votes(&mut self, wanted: &[(&str, u32, u32)]) -> Result<()> {
        self.client.expect_votes(wanted).await
    }

    /// Waits for the seat that a connection has asked for.
    pub async fn seated(mut client: Client, word: &str) -> Result<Self> {
        let seated = client.expect("seated").await?;
        let text = |field: &str| {
            let text = seated[field].as_str().map(ToOwned::to_owned);
            text.with_context(|| format!("no {field} in {seated}"))
        };
        let (id, token, name) = (text("student")?, text("seat")?, text("name")?);
        Ok(Self { client, seat: Seat { word: word.to_owned(), id, token, name }, seated })
    }

    /// Sends an answer and gives its attempt.
    pub async fn answer(&mut self, round: u16, text: &str) -> Result<String> {
        let attempt = Uuid::new_v4().to_string();
        self.answer_as(round, &attempt, text).await?;
        Ok(attempt)
    }

    /// Sends an answer with an attempt of the caller's.
    pub async fn answer_as(&mut self, round: u16, attempt: &str, text: &str) -> Result<()> {
        let answer = json!({
            "type": "answer", "round": round, "attempt": attempt, "text": text, "elapsed_ms": 1_500,
        });
        self.client.say(answer).await
    }

    /// Sends an answer and waits until it is received and recorded, in that order.
    pub async fn answer_recorded(&mut self, round: u16, text: &str) -> Result<String> {
        let attempt = self.answer(round, text).await?;
        self.expect_recorded(&attempt).await?;
        Ok(attempt)
    }

    /// Waits until an attempt is received and recorded, in that order.
    pub async fn expect_recorded(&mut self, attempt: &str) -> Result<()> {
        for kind in ["received", "recorded"] {
            let told = self.client.expect(kind).await?;
            ensure!(told["attempt"] == attempt, "{kind} speaks of another attempt: {told}");
        }
        Ok(())
    }

    /// Loses the connection without a word, as Wi-Fi does; the seat is kept.
    pub fn vanish(self) -> Seat {
        self.seat
    }
}

impl Board {
    /// Follows a review.
    pub async fn watch(address: SocketAddr, word: &str) -> Result<Self> {
        let mut client = Client::open(address, Role::Board).await?;
        client.hello(json!({ "type": "watch", "word": word })).await?;
        let watching = client.expect("watching").await?;
        Ok(Self { client, watching })
    }
}

impl Instructor {
    /// Takes a review in hand: by its join word, or without one if it is the only review.
    pub async fn conduct(address: SocketAddr, word: Option<&str>, key: &str) -> Result<Self> {
        let mut client = Client::open(address, Role::Instructor).await?;
        client.hello(json!({ "type": "conduct", "word": word, "key": key })).await?;
        let conducting = client.expect("conducting").await?;
        ensure!(conducting["key"].is_null(), "the review's key was told again");
        Ok(Self { client, conducting })
    }

    /// Opens another review.
    pub async fn open(address: SocketAddr, key: &str, settings: Value) -> Result<Self> {
        let mut client = Client::open(address, Role::Instructor).await?;
        client.hello(json!({ "type": "open", "key": key, "settings": settings })).await?;
        let conducting = client.expect("conducting").await?;
        Ok(Self { client, conducting })
    }

    /// The join word of the review.
    pub fn word(&self) -> Result<String> {
        let word = self.conducting["review"]["word"].as_str();
        Ok(word.context("no join word")?.to_owned())
    }

    /// Sends a command that needs no more than its name.
    pub async fn say(&mut self, command: &str) -> Result<()> {
        self.client.say(json!({ "type": command })).await
    }

    /// Takes a student out.
    pub async fn remove(&mut self, seat: &Seat) -> Result<()> {
        self.client.say(json!({ "type": "remove", "student": seat.id })).await
    }

    /// Changes a student's time.
    pub async fn stretch(&mut self, seat: &Seat, time: Value) -> Result<()> {
        self.client.say(json!({ "type": "stretch", "student": seat.id, "time": time })).await
    }

    /// Waits for a line of the roll about this student that satisfies `wanted`.
    pub async fn expect_row(
        &mut self,
        seat: &Seat,
        wanted: impl Fn(&Value) -> bool,
    ) -> Result<Value> {
        loop {
            let roll = self.client.expect("roll").await?;
            let rows = roll["rows"].as_array().context("no rows")?;
            let row = rows.iter().find(|row| row["student"] == seat.id.as_str() && wanted(row));
            if let Some(row) = row {
                return Ok(row.clone());
            }
        }
    }

    /// The latest line of the roll about this student among all that was heard.
    pub fn row(&self, seat: &Seat) -> Option<&Value> {
        let rolls = self.client.heard().iter().rev().filter_map(|told| match &told["type"] {
            kind if kind == "roll" => told["rows"].as_array(),
            kind if kind == "conducting" => told["roll"].as_array(),
            _ => None,
        });
        rolls.flatten().find(|row| row["student"] == seat.id.as_str())
    }
}
