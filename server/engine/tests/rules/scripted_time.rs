//! Reviews played from a script: limits, pauses, a review that runs by itself, restarts.

use crate::script::check;

#[test]
fn grace_lets_in_what_was_given_in_time() {
    check(
        "grace_lets_in_what_was_given_in_time",
        "0 seat a
         0 seat b
         0 seat c
         0 start
         20030 a claims 19900 teres minor
         20200 b claims 20030 teres minor
         20289 c claims 19900 teres minor",
    );
}

#[test]
fn more_time_and_no_limit() {
    check(
        "more_time_and_no_limit",
        "0 seat a
         0 seat b
         0 seat c
         0 stretch a 100
         0 stretch a 150
         0 stretch a 150
         0 untimed b
         0 start
         1000 stretch c 200
         1500 c drops
         1600 c returns
         21000 c answers teres minor
         29000 a answers teres minor
         40000 wait
         90000 b answers teres minor
         91000 reveal
         92000 next
         92000 stretch a 1000
         93000 b leaves
         122000 a answers deltoid
         131000 c claims 39000 deltoid
         140000 wait",
    );
}

#[test]
fn no_limit_is_not_for_ever_where_the_review_runs_by_itself() {
    check(
        "no_limit_is_not_for_ever_where_the_review_runs_by_itself",
        "pace automatic 3000
         0 seat a
         0 untimed a
         0 start
         199000 wait
         200290 wait",
    );
}

#[test]
fn an_untimed_student_who_drops_has_the_time_of_the_class() {
    check(
        "an_untimed_student_who_drops_has_the_time_of_the_class",
        "0 seat a
         0 seat b
         0 untimed b
         0 start
         2000 a answers teres minor
         3000 b drops
         4000 b returns
         30000 b answers teres minor
         31000 reveal
         40000 next
         41000 a answers deltoid
         42000 b drops
         60290 wait",
    );
}

#[test]
fn a_pause_stops_the_time() {
    check(
        "a_pause_stops_the_time",
        "0 seat a
         0 seat b
         0 seat c
         0 start
         3000 pause
         3100 pause
         3200 b answers teres minor
         3300 a answers teres minor
         60000 seat d
         70000 resume
         70100 resume
         71000 a answers teres minor
         72000 pause
         73000 c leaves
         74000 d leaves
         80000 resume
         81000 reveal",
    );
}

#[test]
fn a_pause_after_a_reveal_gives_it_its_full_time() {
    check(
        "a_pause_after_a_reveal_gives_it_its_full_time",
        "pace automatic 3000
         plan teres-minor deltoid infraspinatus
         0 seat a
         0 start
         1000 a answers teres minor
         2000 pause
         9000 resume
         12000 wait
         13000 pause
         14000 close
         17000 pause
         18000 next",
    );
}

#[test]
fn a_round_closed_in_a_pause() {
    check(
        "a_round_closed_in_a_pause",
        "0 seat a
         0 start
         3000 pause
         4000 close
         5000 resume
         5500 pause
         6000 reveal
         7000 pause
         8000 next
         9000 pause
         10000 skip
         11000 pause
         12000 resume
         13000 pause
         14000 end",
    );
}

#[test]
fn it_runs_by_itself() {
    check(
        "it_runs_by_itself",
        "pace automatic 3000
         plan teres-minor deltoid infraspinatus
         0 seat a
         0 seat b
         500 start
         2500 a answers teres minor
         3500 b answers teres minor
         6500 wait
         8000 skip
         9000 a answers infraspinatus
         40000 wait",
    );
}

#[test]
fn it_waits_while_nobody_is_here() {
    check(
        "it_waits_while_nobody_is_here",
        "pace automatic 3000
         0 seat a
         0 start
         1000 a drops
         60000 wait
         70000 a returns
         71000 a leaves
         72000 skip
         90000 a returns",
    );
}

/// The time of the stop is not the students': 4000 ms have run when the review goes on.
#[test]
fn the_server_comes_back_in_mid_round() {
    check(
        "the_server_comes_back_in_mid_round",
        "0 seat a
         0 seat b
         0 untimed b
         0 start
         4000 a answers teres minor
         9999 restart
         4500 a returns
         4600 a repeats
         5000 b returns
         9000 b answers teres minor
         9999 restart
         10000 reveal",
    );
}

#[test]
fn the_server_comes_back_in_a_pause() {
    check(
        "the_server_comes_back_in_a_pause",
        "0 seat a
         0 start
         4000 pause
         9999 restart
         5000 a returns
         7000 resume
         8000 a answers teres minor",
    );
}

#[test]
fn the_server_comes_back_to_an_ended_review() {
    check(
        "the_server_comes_back_to_an_ended_review",
        "0 seat a
         1000 end
         9999 restart
         2000 a returns",
    );
}

/// Stamps are made at the sockets and may reach the room out of order: time never turns back.
#[test]
fn stamps_out_of_order() {
    check(
        "stamps_out_of_order",
        "0 seat a
         0 seat b
         5000 start
         4000 a answers teres minor
         6000 pause
         5900 resume
         7000 resume
         6500 pause
         8000 resume
         7500 b answers teres minor",
    );
}

/// The client claims less time than anyone takes to read and type ten letters.
#[test]
fn a_hasty_claim_is_raised_and_flagged() {
    check(
        "a_hasty_claim_is_raised_and_flagged",
        "0 seat a
         0 seat b
         0 seat c
         0 start
         500 a claims 10 teres minor
         790 b claims 765 teres minor
         790 c claims 766 teres minor",
    );
}
