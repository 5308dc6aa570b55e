// The messages between pages and server, made from server/wire/schema: do not edit.
// Anew: npm run wire, in tests/browser.

/**
 * The first message, sent within five seconds of the handshake. It says who this is.
 *
 * Handshake: a WebSocket (RFC 6455, version 13) at path `/live` of the server's address, naming
 * the subprotocol `myonym.v1`; without it the answer is HTTP 400, to a page of another server 403.
 *
 * Messages: one JSON object in one text message. A client's has at most 16 KiB, no field but those
 * named here, numbers within their `format`, and whole numbers without fraction or exponent. A
 * server's may be larger and may come to have more fields; a field that is `null` or left out
 * means the same. Any answer to a first message but `seated`, `conducting` or `watching` is an `error`, and
 * the connection closes.
 *
 * Keeping in touch: the server pings every 10 s (a client answers with pong, as RFC 6455 has it)
 * and gives up a connection that it has not heard for 30 s. A client that has heard nothing, not
 * even a ping, for 15 s takes the connection for lost.
 *
 * How much: a student may send 20 messages at once and 2 a second in the long run, an instructor
 * 40 and 10; pings and pongs count. Beyond that the server closes with 1008; so it does after the
 * third message that it cannot read as one of these.
 *
 * Close codes: 1000 the review is over, or the student left; 1001 the server stops, or has not
 * heard the client; 1002, 1003 (binary), 1007 and 1009 as RFC 6455 has them; 1008 refused,
 * removed, or too many messages; 1011 a fault in the server; 1013 the client reads too slowly;
 * 4001 another connection took the seat. After 1001, 1011, 1013 or an end without close frame a
 * client comes back by itself, `return` for a student, `conduct` for an instructor and `watch` for a board, waiting
 * longer after each try; after the others it does not. Seats, answers and reviews outlast a stop
 * of the server.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Hello".
 */
export type Hello =
  | {
      /**
       * The group that the student works in, such as a bench of the lab. It is cleaned as `name`
       * is, and then has 1 to 24 characters.
       */
      group?: string | null;
      /**
       * Whether the name may be shown to the class in the standings. The instructor sees it
       * anyway.
       */
      listed?: boolean;
      /**
       * What the student wants to be called. It is cleaned: control, direction and invisible
       * characters go, spaces become single, at most two combining marks in a row stay. After
       * that it has 1 to 24 characters, combining marks not counted. Two students may have the
       * same one, unless the server keeps to a roster: then only a name of it may be taken
       * (capitals and spaces do not matter), once; else `not_allowed`.
       */
      name: string;
      /**
       * A secret of 128 random bits that one device keeps and sends in every review, so that its
       * student's progress can be followed from one to the next without an account. The server
       * keeps a keyed hash of it and of `name`, which tells nothing outside this server; who
       * comes under another name is somebody else. Left out, each review stands for itself.
       */
      person?: PersonToken | null;
      /**
       * A seat token of the client's own making, of 128 random bits: if the connection is lost
       * before `seated`, the same `join` sent again takes the same seat. Left out, the server
       * makes one.
       */
      seat?: SeatToken | null;
      type: "join";
      word: JoinWord;
    }
  | {
      seat: SeatToken;
      type: "return";
      word: JoinWord;
    }
  | {
      key: HostKey;
      type: "conduct";
      /**
       * The join word. With the server's key it may be left out where the server keeps a single
       * review; one that is over is kept for ten minutes, and as long as an instructor is
       * connected.
       */
      word?: JoinWord | null;
    }
  | {
      key: HostKey;
      /**
       * The text of a muscle list of one's own, in place of `list`; as for `plan`.
       */
      own_list?: string | null;
      /**
       * The text of a plan file (TOML) such as `myonym plan` writes; its rounds are held, and
       * `list`, `rounds`, `tasks` and `adaptive` of the settings are not used, nor `limit_ms` if it
       * has a limit. What is wrong with it is told in the `message` of a `bad_field`.
       */
      plan?: string | null;
      settings: ReviewSettings;
      type: "open";
    }
  | {
      /**
       * As in `join`.
       */
      listed?: boolean;
      /**
       * As in `join`.
       */
      name: string;
      /**
       * As in `join`.
       */
      person?: PersonToken | null;
      /**
       * As in `join`. The same `gather` sent again with it takes the same seat, and opens nothing
       * anew.
       */
      seat?: SeatToken | null;
      settings: ReviewSettings;
      type: "gather";
    }
  | {
      type: "watch";
      word: JoinWord;
    };
/**
 * What a student's device keeps to be known again in another review: 32 hexadecimal digits.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "PersonToken".
 */
export type PersonToken = string;
/**
 * What a student's client keeps to come back to the same seat: 32 hexadecimal digits.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "SeatToken".
 */
export type SeatToken = string;
/**
 * Bone names joined by hyphens, two to five, such as `radius-talus`, that can be said aloud: more
 * where strangers reach the server or it keeps many reviews, so that none is found by trying.
 *
 * The server gives it out in this form. In what a person types it also takes capitals, and spaces
 * or underscores for hyphens, and puts them right.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "JoinWord".
 */
export type JoinWord = string;
/**
 * What lets an instructor conduct a review: 32 hexadecimal digits.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "HostKey".
 */
export type HostKey = string;
/**
 * Who moves the review on.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Pace".
 */
export type Pace =
  | {
      kind: "instructor";
    }
  | {
      kind: "automatic";
      /**
       * How long a reveal stays, in milliseconds.
       */
      reveal_ms: number;
    }
  | {
      kind: "group";
      /**
       * How long a reveal stays, in milliseconds.
       */
      reveal_ms: number;
    };
/**
 * How points follow from credit c, elapsed time t and the student's own limit d. The credit of the
 * right muscle or movement is 1, of a near-miss above 0 and at most 1/4, of another 0, and of the wrong one of
 * two 0 however near; without a limit t / d is 0; silence earns 0.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ScoreRule".
 */
export type ScoreRule = "speed_weighted" | "signed_residual_time";
/**
 * How typed names of muscles and movements are marked.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Spelling".
 */
export type Spelling = "tolerant" | "strict";
/**
 * What a round asks for.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Task".
 */
export type Task = "name" | "picture" | "movement" | "contrast";
/**
 * What a student's client may send after `seated`.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "FromStudent".
 */
export type FromStudent =
  | {
      attempt: AttemptId;
      /**
       * Milliseconds, by the client's own monotonic clock, from the round's first clue on the
       * screen to the answer, less pauses; after a return, `elapsed_ms` of the moment and the
       * time since. The server holds it to what it saw itself: never more, less by the network's
       * round trip and 40 ms at most (together 250 ms), and never less than typing takes.
       */
      elapsed_ms: number;
      round: RoundNo;
      /**
       * The name as typed, at most 80 characters, with a letter or digit. Capitals, spaces and a
       * leading `m.` or `musculus` do not matter; English and Latin names are known. A movement
       * may come alone or with what moves or the joint, as noun or verb: `flexion`, `flexes the
       * elbow`, `external rotation of the arm`; alone, it stands for any joint.
       */
      text: string;
      type: "answer";
    }
  | {
      type: "start";
    }
  | {
      motion: Motion;
      type: "vote";
      /**
       * Whether for it; `false` takes a vote back.
       */
      yes: boolean;
    }
  | {
      time: TimeAllowance;
      type: "own_time";
    }
  | {
      type: "leave";
    };
/**
 * One try at answering, chosen by the client at random. Sending it again changes nothing.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "AttemptId".
 */
export type AttemptId = string;
/**
 * The number of a round in its review, from 1.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "RoundNo".
 */
export type RoundNo = number;
/**
 * What a study group votes on. More than half of the members connected decide. A vote is void once
 * what it is on has come about or can no more, its member has left or was removed, or the server was
 * stopped; one on anything but the end also when a round opens, closes or is skipped.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Motion".
 */
export type Motion = "skip" | "pause" | "resume" | "next" | "end";
/**
 * How much time one student has, beside the rest of the class. Each round goes by what stood when
 * it opened, or when the student came in.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "TimeAllowance".
 */
export type TimeAllowance =
  | {
      kind: "standard";
    }
  | {
      kind: "stretched";
      /**
       * From 150 to 1000.
       */
      percent: number;
    }
  | {
      kind: "untimed";
    };
/**
 * What the server tells a student. More types and fields may be added: a client ignores those
 * unknown to it.
 *
 * A round goes `round_opened`, any number of `clue`, `round_closed`, `revealed`, `result`,
 * `standings`, or at any time before the reveal `round_skipped`. Nothing is missed while a
 * connection lasts, and `seated` makes up for all that went before it.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ToStudent".
 */
export type ToStudent =
  | {
      moment: Moment;
      /**
       * Your name after cleaning.
       */
      name: string;
      /**
       * Students connected now, you among them.
       */
      present: number;
      review: ReviewInfo;
      /**
       * The token to come back with; only in answer to `join`.
       */
      seat?: SeatToken | null;
      seq: Seq;
      student: StudentId;
      time: TimeAllowance;
      /**
       * Your points so far.
       */
      total: number;
      type: "seated";
    }
  | {
      attempt: AttemptId;
      round: RoundNo;
      type: "received";
    }
  | {
      attempt: AttemptId;
      round: RoundNo;
      type: "recorded";
    }
  | {
      /**
       * Names to choose from.
       */
      among: string[];
      attempt: AttemptId;
      round: RoundNo;
      type: "which_one";
    }
  | {
      attempt: AttemptId;
      /**
       * Names that look alike; may be empty.
       */
      nearest: string[];
      round: RoundNo;
      type: "unknown_name";
    }
  | (OwnResult & {
      type: "result";
    })
  | (Summary & {
      type: "summary";
    })
  | {
      time: TimeAllowance;
      type: "time_changed";
    }
  | {
      /**
       * Your name from now on.
       */
      name: string;
      type: "renamed";
    }
  | {
      type: "removed";
    }
  | {
      /**
       * Students connected now.
       */
      present: number;
      /**
       * Students with a seat.
       */
      seated: number;
      type: "class";
    }
  | {
      /**
       * Every motion that somebody is for; empty once it is carried or void.
       */
      rows: VoteRow[];
      type: "votes";
    }
  | {
      clue: ClueShown;
      /**
       * Number of clues that the round has.
       */
      clue_count: number;
      /**
       * Where a movement is asked for, one in the form wanted that is not right here,
       * such as `flexion of the forearm`.
       */
      example?: string | null;
      /**
       * Time limit for the class, in milliseconds.
       */
      limit_ms: number;
      /**
       * Number of rounds.
       */
      of: number;
      /**
       * Where one of two muscles is to be chosen, their names in the order shown; else
       * empty. Either name is an answer in any of its forms. To another muscle's the
       * student is asked again (`which_one`).
       */
      offered?: string[];
      round: RoundNo;
      seq: Seq;
      task?: Task;
      type: "round_opened";
    }
  | {
      clue: ClueShown;
      /**
       * Number of the clue, from 1.
       */
      number: number;
      round: RoundNo;
      seq: Seq;
      type: "clue";
    }
  | {
      /**
       * Time run so far in the open round, in milliseconds; 0 between rounds.
       */
      elapsed_ms: number;
      seq: Seq;
      type: "paused";
    }
  | {
      /**
       * Time run so far in the open round, in milliseconds; 0 between rounds.
       */
      elapsed_ms: number;
      seq: Seq;
      type: "resumed";
    }
  | {
      /**
       * Answers recorded.
       */
      answered: number;
      round: RoundNo;
      /**
       * Students with a seat.
       */
      seated: number;
      seq: Seq;
      type: "round_closed";
      why: CloseWhy;
    }
  | {
      round: RoundNo;
      seq: Seq;
      type: "round_skipped";
    }
  | {
      reveal: Reveal;
      round: RoundNo;
      seq: Seq;
      type: "revealed";
    }
  | {
      /**
       * Number of students that have a place.
       */
      of: number;
      /**
       * At most ten lines.
       */
      rows: StandingRow[];
      seq: Seq;
      type: "standings";
    }
  | {
      seq: Seq;
      type: "ended";
      why: EndWhy;
    }
  | {
      trouble: Trouble;
      type: "trouble";
    }
  | {
      code: ErrorCode;
      /**
       * The same in words, for a person; to a message that does not fit the schema, what
       * was found in it.
       */
      message: string;
      type: "error";
    };
/**
 * Where a review stands, told to someone who joins or returns. To an instructor `given`, `result`
 * and `summary` are absent.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Moment".
 */
export type Moment =
  | {
      phase: "gathering";
    }
  | {
      /**
       * Number of clues that the round has.
       */
      clue_count: number;
      /**
       * Clues shown so far.
       */
      clues: ClueShown[];
      /**
       * Time run so far, in milliseconds, less pauses and stops of the server.
       */
      elapsed_ms: number;
      /**
       * As in `round_opened`.
       */
      example?: string | null;
      /**
       * Your own answer, if it was taken.
       */
      given?: Given | null;
      /**
       * Time limit for the class, in milliseconds.
       */
      limit_ms: number;
      /**
       * Number of rounds.
       */
      of: number;
      /**
       * As in `round_opened`.
       */
      offered?: string[];
      /**
       * Whether the time stands still.
       */
      paused: boolean;
      phase: "open";
      round: RoundNo;
      task?: Task;
    }
  | {
      /**
       * Clues shown.
       */
      clues: ClueShown[];
      /**
       * Your own answer, if it was taken.
       */
      given?: Given | null;
      /**
       * Number of rounds.
       */
      of: number;
      /**
       * As in `round_opened`.
       */
      offered?: string[];
      phase: "closed";
      round: RoundNo;
      task?: Task;
      why: CloseWhy;
    }
  | {
      /**
       * Number of rounds.
       */
      of: number;
      phase: "revealed";
      /**
       * Your own result; absent for one who neither answered nor was connected when it
       * closed.
       */
      result?: OwnResult | null;
      reveal: Reveal;
      round: RoundNo;
      /**
       * The standings, at most ten lines.
       */
      standings: StandingRow[];
    }
  | {
      /**
       * Number of rounds.
       */
      of: number;
      phase: "skipped";
      round: RoundNo;
    }
  | {
      phase: "ended";
      /**
       * The standings, at most ten lines.
       */
      standings: StandingRow[];
      /**
       * Your own summary.
       */
      summary?: Summary | null;
      why: EndWhy;
    };
/**
 * What a stroke or a label belongs to. Colour may show it, but never alone.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Part".
 */
export type Part = "bone" | "neighbour" | "muscle" | "origin" | "insertion" | "motion" | "joint";
/**
 * From where a right-sided muscle is seen.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "View".
 */
export type View = "front" | "back" | "side" | "above";
/**
 * Why a round takes no more answers.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "CloseWhy".
 */
export type CloseWhy = "time_up" | "all_answered" | "instructor";
/**
 * How one student's round came out.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Verdict".
 */
export type Verdict = "right" | "near" | "wrong" | "silent";
/**
 * Why a review is over.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "EndWhy".
 */
export type EndWhy = "finished" | "instructor" | "abandoned";
/**
 * A review. Version 7, so that ids sort by the time of opening.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ReviewId".
 */
export type ReviewId = string;
/**
 * The number of an event in its review, from 1. A message's `seq` is that of the event that it
 * tells of, or the last one for `seated` and `conducting`. It never falls; gaps are no loss,
 * because most events are told to one person or as counts.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Seq".
 */
export type Seq = number;
/**
 * A student in one review: a random number. The name stands elsewhere.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "StudentId".
 */
export type StudentId = string;
/**
 * Something that the server cannot do just now; the review goes on once it can.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Trouble".
 */
export type Trouble = "cannot_save" | "saving_again";
/**
 * Why a message was refused. The review goes on. The connection stays open, save after a refused
 * first message, after `too_many`, and after the third message that cannot be read.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ErrorCode".
 */
export type ErrorCode =
  | "not_readable"
  | "unknown_type"
  | "bad_field"
  | "hello_first"
  | "no_such_review"
  | "not_allowed"
  | "bad_name"
  | "room_full"
  | "review_over"
  | "not_now"
  | "round_not_open"
  | "too_late"
  | "already_answered"
  | "no_such_student"
  | "too_many"
  | "slow_down"
  | "cannot_save";
/**
 * What an instructor may send after `conducting`. What a command brings about is told to all as it
 * happens; nothing else confirms it. At the wrong moment the answer is `error` with `not_now`.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "FromInstructor".
 */
export type FromInstructor =
  | {
      type: "start";
    }
  | {
      type: "next";
    }
  | {
      type: "close_round";
    }
  | {
      type: "reveal";
    }
  | {
      type: "skip";
    }
  | {
      type: "pause";
    }
  | {
      type: "resume";
    }
  | {
      student: StudentId;
      type: "remove";
    }
  | {
      student: StudentId;
      time: TimeAllowance;
      type: "stretch";
    }
  | {
      /**
       * The name.
       */
      name: string;
      student: StudentId;
      type: "rename";
    }
  | {
      type: "end";
    };
/**
 * What the server tells an instructor: what the class is told, and what only the instructor
 * may see (but no `result` and no `summary`). More types and fields may be added: a client
 * ignores those unknown to it.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ToInstructor".
 */
export type ToInstructor =
  | {
      /**
       * Addresses at which students reach the server, such as `192.0.2.7:7645`.
       */
      addresses: string[];
      /**
       * As in `coming`: of the round at hand, or between rounds of the next; absent where
       * the rounds were merely drawn.
       */
      coming?: Coming | null;
      /**
       * The key of this review, which conducts it and no other; only in answer to `open`.
       */
      key?: HostKey | null;
      moment: Moment;
      review: ReviewInfo;
      /**
       * Who has a seat.
       */
      roll: RollRow[];
      /**
       * Whether students reach it by TLS.
       */
      secure?: boolean;
      seq: Seq;
      type: "conducting";
      weak_spots: WeakSpots;
    }
  | {
      /**
       * Their lines as they are now.
       */
      rows: RollRow[];
      type: "roll";
    }
  | {
      student: StudentId;
      type: "gone";
    }
  | {
      /**
       * Answers recorded.
       */
      answered: number;
      /**
       * Times that a name was half or unknown and the student was asked again.
       */
      asked_again: number;
      /**
       * Students who were here at some time of this round and have not been removed.
       */
      here: number;
      round: RoundNo;
      /**
       * What was answered, commonest first.
       */
      spread: SpreadRow[];
      type: "tally";
    }
  | (WeakSpots & {
      type: "weak_spots";
    })
  | (Coming & {
      type: "coming";
    })
  | {
      /**
       * Students connected now.
       */
      present: number;
      /**
       * Students with a seat.
       */
      seated: number;
      type: "class";
    }
  | {
      /**
       * Every motion that somebody is for; empty once it is carried or void.
       */
      rows: VoteRow[];
      type: "votes";
    }
  | {
      clue: ClueShown;
      /**
       * Number of clues that the round has.
       */
      clue_count: number;
      /**
       * Where a movement is asked for, one in the form wanted that is not right here,
       * such as `flexion of the forearm`.
       */
      example?: string | null;
      /**
       * Time limit for the class, in milliseconds.
       */
      limit_ms: number;
      /**
       * Number of rounds.
       */
      of: number;
      /**
       * Where one of two muscles is to be chosen, their names in the order shown; else
       * empty. Either name is an answer in any of its forms. To another muscle's the
       * student is asked again (`which_one`).
       */
      offered?: string[];
      round: RoundNo;
      seq: Seq;
      task?: Task;
      type: "round_opened";
    }
  | {
      clue: ClueShown;
      /**
       * Number of the clue, from 1.
       */
      number: number;
      round: RoundNo;
      seq: Seq;
      type: "clue";
    }
  | {
      /**
       * Time run so far in the open round, in milliseconds; 0 between rounds.
       */
      elapsed_ms: number;
      seq: Seq;
      type: "paused";
    }
  | {
      /**
       * Time run so far in the open round, in milliseconds; 0 between rounds.
       */
      elapsed_ms: number;
      seq: Seq;
      type: "resumed";
    }
  | {
      /**
       * Answers recorded.
       */
      answered: number;
      round: RoundNo;
      /**
       * Students with a seat.
       */
      seated: number;
      seq: Seq;
      type: "round_closed";
      why: CloseWhy;
    }
  | {
      round: RoundNo;
      seq: Seq;
      type: "round_skipped";
    }
  | {
      reveal: Reveal;
      round: RoundNo;
      seq: Seq;
      type: "revealed";
    }
  | {
      /**
       * Number of students that have a place.
       */
      of: number;
      /**
       * At most ten lines.
       */
      rows: StandingRow[];
      seq: Seq;
      type: "standings";
    }
  | {
      seq: Seq;
      type: "ended";
      why: EndWhy;
    }
  | {
      trouble: Trouble;
      type: "trouble";
    }
  | {
      code: ErrorCode;
      /**
       * The same in words, for a person; to a message that does not fit the schema, what
       * was found in it.
       */
      message: string;
      type: "error";
    };
/**
 * What the server tells a board: what the class is told, and how many have answered, never whose
 * answers or what. More types and fields may be added: a client ignores those unknown to it.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ToBoard".
 */
export type ToBoard =
  | {
      /**
       * Addresses at which students reach the server, such as `192.0.2.7:7645`.
       */
      addresses: string[];
      /**
       * Answers recorded in the open round; 0 where none is open.
       */
      answered: number;
      here: Here;
      moment: Moment;
      review: ReviewInfo;
      /**
       * Whether students reach it by TLS.
       */
      secure: boolean;
      seq: Seq;
      type: "watching";
      /**
       * What was confused, once the review is over.
       */
      weak_spots?: WeakSpots | null;
    }
  | (Here & {
      type: "here";
    })
  | {
      /**
       * Answers recorded.
       */
      answered: number;
      /**
       * Students who were here at some time of this round and have not been removed.
       */
      here: number;
      round: RoundNo;
      type: "answers";
    }
  | (WeakSpots & {
      type: "weak_spots";
    })
  | {
      /**
       * Students connected now.
       */
      present: number;
      /**
       * Students with a seat.
       */
      seated: number;
      type: "class";
    }
  | {
      /**
       * Every motion that somebody is for; empty once it is carried or void.
       */
      rows: VoteRow[];
      type: "votes";
    }
  | {
      clue: ClueShown;
      /**
       * Number of clues that the round has.
       */
      clue_count: number;
      /**
       * Where a movement is asked for, one in the form wanted that is not right here,
       * such as `flexion of the forearm`.
       */
      example?: string | null;
      /**
       * Time limit for the class, in milliseconds.
       */
      limit_ms: number;
      /**
       * Number of rounds.
       */
      of: number;
      /**
       * Where one of two muscles is to be chosen, their names in the order shown; else
       * empty. Either name is an answer in any of its forms. To another muscle's the
       * student is asked again (`which_one`).
       */
      offered?: string[];
      round: RoundNo;
      seq: Seq;
      task?: Task;
      type: "round_opened";
    }
  | {
      clue: ClueShown;
      /**
       * Number of the clue, from 1.
       */
      number: number;
      round: RoundNo;
      seq: Seq;
      type: "clue";
    }
  | {
      /**
       * Time run so far in the open round, in milliseconds; 0 between rounds.
       */
      elapsed_ms: number;
      seq: Seq;
      type: "paused";
    }
  | {
      /**
       * Time run so far in the open round, in milliseconds; 0 between rounds.
       */
      elapsed_ms: number;
      seq: Seq;
      type: "resumed";
    }
  | {
      /**
       * Answers recorded.
       */
      answered: number;
      round: RoundNo;
      /**
       * Students with a seat.
       */
      seated: number;
      seq: Seq;
      type: "round_closed";
      why: CloseWhy;
    }
  | {
      round: RoundNo;
      seq: Seq;
      type: "round_skipped";
    }
  | {
      reveal: Reveal;
      round: RoundNo;
      seq: Seq;
      type: "revealed";
    }
  | {
      /**
       * Number of students that have a place.
       */
      of: number;
      /**
       * At most ten lines.
       */
      rows: StandingRow[];
      seq: Seq;
      type: "standings";
    }
  | {
      seq: Seq;
      type: "ended";
      why: EndWhy;
    }
  | {
      trouble: Trouble;
      type: "trouble";
    }
  | {
      code: ErrorCode;
      /**
       * The same in words, for a person; to a message that does not fit the schema, what
       * was found in it.
       */
      message: string;
      type: "error";
    };

/**
 * All messages, by their direction.
 */
export interface Wire {
  Hello: Hello;
  FromStudent: FromStudent;
  ToStudent: ToStudent;
  FromInstructor: FromInstructor;
  ToInstructor: ToInstructor;
  ToBoard: ToBoard;
}
/**
 * How a review runs. Everything may be left out.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ReviewSettings".
 */
export interface ReviewSettings {
  /**
   * Whether each round is chosen by what was answered before it. The number of rounds stands; where
   * nothing is chosen in time, the round that was drawn is held.
   */
  adaptive?: boolean;
  /**
   * Time limit of a round for the class, in milliseconds.
   */
  limit_ms?: number;
  /**
   * Key of the muscle list, such as `shoulder`. To one that the server does not have it answers
   * with `bad_field` and a `message` that names those it has.
   */
  list?: string;
  pace?: Pace;
  /**
   * Number of rounds; 0 asks each muscle of the list once.
   */
  rounds?: number;
  rule?: ScoreRule;
  /**
   * The section of the course that it is held for, such as `Lab A`. It is cleaned as a student's
   * name is, and then has 1 to 40 characters.
   */
  section?: string | null;
  spelling?: Spelling;
  /**
   * What rounds ask for: each in turn, in a drawn order; at least one. A muscle that cannot be
   * asked for in the way whose turn it is (no picture of it, no action taught, no clue that tells
   * it from its nearest neighbour) is asked for by name.
   *
   * @minItems 1
   */
  tasks?: [Task, ...Task[]];
}
/**
 * One clue, as a sentence that needs nothing else.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ClueShown".
 */
export interface ClueShown {
  /**
   * What it speaks of, such as `action` or `insertion`; `attachments` is both ends at once, and
   * `picture` a picture.
   */
  kind: string;
  /**
   * The picture, where the clue is one: it names nothing. Left out in a reveal, which has better
   * ones.
   */
  picture?: Picture | null;
  /**
   * The sentence.
   */
  text: string;
}
/**
 * A muscle with the bones concerned, seen from one side.
 *
 * Where the page shows it 360 pixels wide, a unit is half a pixel.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Picture".
 */
export interface Picture {
  /**
   * Height of the picture in its own units.
   */
  height: number;
  /**
   * Words to write, where the picture is labelled.
   */
  labels: Label[];
  /**
   * Units for each decimetre of the body, so that two pictures can be compared.
   */
  scale: number;
  /**
   * What to draw, from back to front.
   */
  strokes: Stroke[];
  /**
   * The same in words, for those who do not see it. Its first sentence is a heading.
   */
  text: string;
  view: View;
  /**
   * Width of the picture in its own units.
   */
  width: number;
}
/**
 * Words beside a point.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Label".
 */
export interface Label {
  /**
   * The point that it names.
   *
   * @minItems 2
   * @maxItems 2
   */
  at: [number, number];
  /**
   * The words, in lines; from one base line to the next it is [`Label::LINE`].
   */
  lines: string[];
  part: Part;
  /**
   * Whether the text runs to the right of `text_at`.
   */
  right: boolean;
  /**
   * Where the text stands: its left end if `right`, else its right end; the base line of the
   * first line.
   *
   * @minItems 2
   * @maxItems 2
   */
  text_at: [number, number];
}
/**
 * A line or an outline.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Stroke".
 */
export interface Stroke {
  /**
   * Whether a bone lies before it, so that it is drawn broken.
   */
  behind?: boolean;
  /**
   * Whether the last point is joined to the first, and the inside filled.
   */
  closed: boolean;
  /**
   * Closed lines round what is not filled.
   */
  holes?: [number, number][][];
  part: Part;
  /**
   * Its points, x to the right and y down; one point alone is a mark.
   */
  points: [number, number][];
}
/**
 * A student's own answer in the round at hand.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Given".
 */
export interface Given {
  attempt: AttemptId;
  /**
   * Whether it is on disk (`recorded`) or only received.
   */
  recorded: boolean;
  /**
   * What was typed.
   */
  text: string;
}
/**
 * One student's own result of a round.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "OwnResult".
 */
export interface OwnResult {
  /**
   * The name or movement that was understood, or the typed text where nothing has that name;
   * absent for silence.
   */
  answer?: string | null;
  /**
   * Number of students that have a place.
   */
  of: number;
  /**
   * Place in the class from 1; equal points share a place.
   */
  place: number;
  /**
   * Points of this round, to one hundredth.
   */
  points: number;
  round: RoundNo;
  /**
   * Points of the review so far, this round's among them.
   */
  total: number;
  verdict: Verdict;
}
/**
 * The end of a round: the answer and how the class did.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Reveal".
 */
export interface Reveal {
  answer: NamePair;
  /**
   * Every clue of the round, shown or not.
   */
  clues: ClueShown[];
  /**
   * The contrast with the commonest wrong answer, if there was one; never with a movement. Where
   * two muscles were offered, always with the other one, whether anybody chose it or not.
   */
  contrast?: ContrastShown | null;
  /**
   * Why the muscle does what it does: a sentence for each action that the course teaches.
   */
  explanations?: string[];
  /**
   * Where a movement was asked for, those that are right, the taught ones first; else empty.
   */
  movements?: string[];
  /**
   * The muscle with its labels, and second, at the same scale, the one of the contrast; empty
   * where there is no picture of it.
   */
  pictures?: Picture[];
  /**
   * How many were connected when the round closed and gave no answer.
   */
  silent: number;
  /**
   * What was answered, commonest first.
   */
  spread: SpreadRow[];
  task?: Task;
}
/**
 * A muscle's names.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "NamePair".
 */
export interface NamePair {
  /**
   * Latin, such as `musculus teres minor`.
   */
  latin: string;
  /**
   * English, such as `teres minor`.
   */
  name: string;
}
/**
 * What separates the muscle asked from the class's commonest wrong answer.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ContrastShown".
 */
export interface ContrastShown {
  /**
   * What tells them apart, most telling first.
   */
  apart: DifferenceShown[];
  /**
   * The muscle described.
   */
  asked: string;
  /**
   * How many answered it; 0 only where it was offered.
   */
  count: number;
  /**
   * The muscle that was answered.
   */
  said: string;
  /**
   * What the two have in common, one phrase each.
   */
  shared: string[];
}
/**
 * One feature that separates two muscles.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "DifferenceShown".
 */
export interface DifferenceShown {
  /**
   * How the muscle asked has it.
   */
  asked: string;
  /**
   * The feature, such as `action` or `insertion`.
   */
  aspect: string;
  /**
   * How the muscle answered has it.
   */
  said: string;
}
/**
 * How many answered one name of a muscle, or one movement.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "SpreadRow".
 */
export interface SpreadRow {
  /**
   * Number of students.
   */
  count: number;
  /**
   * The name, such as `teres minor` or `flexion of the forearm`; in strict spelling, one that
   * nothing has is `(no such name)` or `(no such movement)`, and a right one misspelt has a line
   * of its own, marked wrong.
   */
  name: string;
  verdict: Verdict;
}
/**
 * One line of the standings.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "StandingRow".
 */
export interface StandingRow {
  /**
   * The student's name; absent for one who did not ask to be listed.
   */
  name?: string | null;
  /**
   * Place from 1; equal points share a place.
   */
  place: number;
  /**
   * Points of the review so far.
   */
  points: number;
}
/**
 * A student's own review, looked back on.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Summary".
 */
export interface Summary {
  /**
   * What to look at again, most pressing first, at most six.
   */
  again: Again[];
  /**
   * Number of students that have a place.
   */
  of: number;
  /**
   * Place in the class.
   */
  place: number;
  /**
   * The rounds that this student answered or was silent in; skipped ones are left out.
   */
  rounds: SummaryRow[];
  /**
   * Points of the review.
   */
  total: number;
}
/**
 * A muscle, or what it does, to look at again.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Again".
 */
export interface Again {
  /**
   * The feature that separates the two.
   */
  apart?: DifferenceShown | null;
  /**
   * The muscle described.
   */
  muscle: string;
  /**
   * What was answered in its place; absent for silence, or a name that nothing has. The same
   * as `muscle` if that was misspelt (strict spelling).
   */
  said?: string | null;
  task?: Task;
}
/**
 * One round of a summary.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "SummaryRow".
 */
export interface SummaryRow {
  /**
   * What was answered; absent for silence.
   */
  answer?: string | null;
  /**
   * The muscle described.
   */
  asked: string;
  /**
   * Points of the round.
   */
  points: number;
  round: RoundNo;
  task?: Task;
  verdict: Verdict;
}
/**
 * What a newcomer has to know of a review.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "ReviewInfo".
 */
export interface ReviewInfo {
  /**
   * Whether rounds are chosen by what was answered so far.
   */
  adaptive?: boolean;
  /**
   * Time limit of a round for the class, in milliseconds.
   */
  limit_ms: number;
  /**
   * Name of the muscle list, for people; not the key that `open` takes.
   */
  list: string;
  pace: Pace;
  review: ReviewId;
  /**
   * Number of rounds; skipped ones count.
   */
  rounds: number;
  rule: ScoreRule;
  spelling: Spelling;
  /**
   * What its rounds ask for, each once.
   */
  tasks?: Task[];
  word: JoinWord;
}
/**
 * How many of a study group are for something.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "VoteRow".
 */
export interface VoteRow {
  motion: Motion;
  /**
   * Members that it takes.
   */
  needed: number;
  /**
   * Members for it who are connected.
   */
  yes: number;
}
/**
 * A round that was planned, and why.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Coming".
 */
export interface Coming {
  /**
   * The other one offered, where one of two is to be chosen.
   */
  beside?: string | null;
  /**
   * The muscle that it describes.
   */
  muscle: string;
  round: RoundNo;
  task?: Task;
  /**
   * Why, as a sentence for the instructor.
   */
  why: string;
}
/**
 * One student on the instructor's roll.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "RollRow".
 */
export interface RollRow {
  /**
   * Whether the open round has this student's answer.
   */
  answered: boolean;
  /**
   * Name.
   */
  name: string;
  /**
   * Whether connected now.
   */
  present: boolean;
  student: StudentId;
  time: TimeAllowance;
}
/**
 * Which muscles the class finds hard to name and which it confuses. Rounds that ask for a movement,
 * or for one of two, are not counted here.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "WeakSpots".
 */
export interface WeakSpots {
  /**
   * Muscles, hardest first, at most eight.
   */
  hardest: HardRow[];
  /**
   * Every muscle answered for another, at most 400, commonest first; right answers are not among
   * them.
   */
  map?: MapCell[];
  /**
   * Confused pairs, commonest first, at most eight.
   */
  pairs: PairRow[];
}
/**
 * How the class did on one muscle.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "HardRow".
 */
export interface HardRow {
  /**
   * Students asked (an answer or silence; absent students are not counted).
   */
  asked: number;
  /**
   * Upper end.
   */
  high: number;
  /**
   * Lower end of the 95 % Wilson interval of the share right, a probability.
   */
  low: number;
  /**
   * The muscle.
   */
  muscle: string;
  /**
   * Right answers.
   */
  right: number;
}
/**
 * How often one muscle was answered for another, for a map of all.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "MapCell".
 */
export interface MapCell {
  /**
   * The muscle described.
   */
  asked: string;
  /**
   * Students who did so.
   */
  count: number;
  /**
   * Students asked.
   */
  of: number;
  /**
   * The muscle answered.
   */
  said: string;
}
/**
 * How often one muscle was answered when another was asked.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "PairRow".
 */
export interface PairRow {
  /**
   * What separates the two, most telling feature.
   */
  apart?: DifferenceShown | null;
  /**
   * The muscle described.
   */
  asked: string;
  /**
   * Students who did so.
   */
  count: number;
  /**
   * Students asked.
   */
  of: number;
  /**
   * The muscle answered.
   */
  said: string;
}
/**
 * Students connected now.
 *
 * This interface was referenced by `Wire`'s JSON-Schema
 * via the `definition` "Here".
 */
export interface Here {
  /**
   * Names of those who may be shown, in the order of their coming, at most 400.
   */
  names: string[];
  /**
   * How many more are here.
   */
  others: number;
}
