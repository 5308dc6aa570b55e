//! What students and instructors are told alike.

/// Makes an enum of messages to one audience: those given, and those that the whole room hears.
/// The server encodes the latter once, so they must be the same for both.
macro_rules! class_messages {
    ($(#[$doc:meta])* pub enum $name:ident { $($own:tt)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
        #[serde(tag = "type", rename_all = "snake_case")]
        pub enum $name {
            $($own)*
            /// How many are here. Sent after a change, at most four times a second.
            Class {
                /// Students connected now.
                present: u32,
                /// Students with a seat.
                seated: u32,
            },
            /// How a study group's votes stand. Sent after a change, and to one who joins or returns
            /// while a vote is under way.
            Votes {
                /// Every motion that somebody is for; empty once it is carried or void.
                rows: Vec<VoteRow>,
            },
            /// A round takes answers. Its time starts when this is on the screen. A student's own
            /// limit follows from `limit_ms` and the student's `time`.
            RoundOpened {
                /// The last event told.
                seq: Seq,
                /// The round.
                round: RoundNo,
                /// Number of rounds.
                of: u16,
                /// What it asks for.
                #[serde(default)]
                task: Task,
                /// Where a movement is asked for, one in the form wanted that is not right here,
                /// such as `flexion of the forearm`.
                example: Option<String>,
                /// Where one of two muscles is to be chosen, their names in the order shown; else
                /// empty. Either name is an answer in any of its forms. To another muscle's the
                /// student is asked again (`which_one`).
                #[serde(default, skip_serializing_if = "Vec::is_empty")]
                offered: Vec<String>,
                /// Time limit for the class, in milliseconds.
                limit_ms: u32,
                /// Number of clues that the round has.
                clue_count: u8,
                /// The first clue.
                clue: ClueShown,
            },
            /// The next clue of the open round. Clues come at equal steps of the class's limit, for
            /// everyone alike; if the round closes early, the last ones are first seen in the
            /// reveal.
            Clue {
                /// The last event told.
                seq: Seq,
                /// The round.
                round: RoundNo,
                /// Number of the clue, from 1.
                number: u8,
                /// The clue.
                clue: ClueShown,
            },
            /// The time stands still, in a round or between two with automatic pace; answers are
            /// refused with `not_now`. Ends with `resumed`, or without it as soon as the round
            /// closes or is skipped, the next opens or the review ends.
            Paused {
                /// The last event told.
                seq: Seq,
                /// Time run so far in the open round, in milliseconds; 0 between rounds.
                elapsed_ms: u64,
            },
            /// The time runs again.
            Resumed {
                /// The last event told.
                seq: Seq,
                /// Time run so far in the open round, in milliseconds; 0 between rounds.
                elapsed_ms: u64,
            },
            /// The round takes no more answers.
            RoundClosed {
                /// The last event told.
                seq: Seq,
                /// The round.
                round: RoundNo,
                /// Why.
                why: CloseWhy,
                /// Answers recorded.
                answered: u32,
                /// Students with a seat.
                seated: u32,
            },
            /// The round does not count: skipped by the instructor, or open when the review was
            /// ended or when answers could not be saved. No reveal follows.
            RoundSkipped {
                /// The last event told.
                seq: Seq,
                /// The round.
                round: RoundNo,
            },
            /// The answer and how the class did. Followed by each student's `result`, by
            /// `standings`, and by the instructors' `weak_spots`.
            Revealed {
                /// The last event told.
                seq: Seq,
                /// The round.
                round: RoundNo,
                /// The reveal.
                reveal: Box<Reveal>,
            },
            /// The first places. Every student with a seat has one.
            Standings {
                /// The last event told.
                seq: Seq,
                /// At most ten lines.
                rows: Vec<StandingRow>,
                /// Number of students that have a place.
                of: u32,
            },
            /// The review is over. Each student's `summary` and the instructors' `weak_spots`
            /// follow; then the server closes the students' connections with 1000; the instructors'
            /// stay open.
            Ended {
                /// The last event told.
                seq: Seq,
                /// Why.
                why: EndWhy,
            },
            /// Something that the server cannot do just now.
            Trouble {
                /// What.
                trouble: Trouble,
            },
            /// Your message was refused. Which one is not said, and an `error` may overtake the
            /// answer to an earlier message: a client that needs to know sends one message at a
            /// time.
            Error {
                /// Why.
                code: ErrorCode,
                /// The same in words, for a person; to a message that does not fit the schema, what
                /// was found in it.
                message: String,
            },
            /// A type that this client does not know yet.
            #[serde(other)]
            #[schemars(skip)]
            Unknown,
        }
    };
}

pub(crate) use class_messages;
