//! The whole program from outside: real processes, real sockets, and the log on the disk.

mod crash;
mod review;
mod two_reviews;
