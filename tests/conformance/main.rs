//! RFC 6455 (The WebSocket Protocol) against the program itself, case by case: what is sent, byte by
//! byte, and what has to come back. Each case names its section. Every connection is read to its
//! end, which has to be the server's (section 7.1.1), in good order and not by a reset.

mod case;
mod closing;
mod control;
mod flood;
mod fragments;
mod frames;
mod handshake;
mod lengths;
mod tls;
mod utf8;
