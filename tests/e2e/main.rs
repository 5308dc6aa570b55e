//! The whole program from outside: real processes, real sockets, and the log on the disk.

mod boards;
mod coming;
mod commands;
mod crash;
mod disk;
mod forget;
mod groups;
mod handshake;
mod marking;
mod opening;
mod own_list;
mod planned;
mod proxy;
mod review;
mod roles;
mod rude;
mod slow;
mod tasks;
mod term;
#[cfg(target_os = "linux")]
mod terminal;
#[cfg(target_os = "linux")]
mod tls;
mod two_reviews;
