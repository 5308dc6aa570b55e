//! Reviews played from a script: who is here, what is answered, who moves the review on.

use crate::script::check;

#[test]
fn a_whole_review() {
    check(
        "a_whole_review",
        "0 seat a
         100 seat b
         1000 start
         3500 a answers teres minor
         9000 b answers teres major
         12000 reveal
         20000 next
         24000 b answers deltoid
         26000 a answers gluteus maximus
         30000 reveal
         40000 next",
    );
}

#[test]
fn who_is_silent_closes_the_round_with_the_time() {
    check(
        "who_is_silent_closes_the_round_with_the_time",
        "0 seat a
         0 seat b
         0 seat c
         0 start
         2000 a answers teres minor
         3000 c drops
         20200 b claims 20001 teres minor
         20289 wait
         20290 wait",
    );
}

#[test]
fn nobody_answers() {
    check(
        "nobody_answers",
        "0 seat a
         0 start
         25000 wait
         26000 reveal",
    );
}

#[test]
fn nobody_is_here() {
    check(
        "nobody_is_here",
        "pace automatic 3000
         0 start
         60000 wait
         70000 seat a
         70100 a answers deltoid",
    );
}

#[test]
fn late_come_and_still_counted() {
    check(
        "late_come_and_still_counted",
        "0 seat a
         0 start
         4000 seat b
         5000 a answers teres minor
         6000 b answers teres minor
         7000 seat c unlisted
         8000 c answers teres minor
         9000 reveal",
    );
}

#[test]
fn leaving_is_not_dropping() {
    check(
        "leaving_is_not_dropping",
        "0 seat a
         0 seat b
         0 seat c
         0 start
         1000 b drops
         2000 a answers teres minor
         3000 c leaves
         4000 b returns
         5000 c returns
         6000 c leaves
         6500 c leaves
         6600 a returns
         7000 b leaves
         8000 c drops",
    );
}

#[test]
fn one_answer_a_round() {
    check(
        "one_answer_a_round",
        "0 seat a
         0 seat b
         0 start
         1500 a answers teres
         1600 a repeats
         3000 a answers teres minir
         3100 a repeats
         3200 a answers deltoid
         4000 b answers
         4500 b answers vastus
         5000 b answers infraspinatus
         6000 a repeats
         6100 b repeats
         6200 b answers deltoid
         7000 reveal
         7100 b repeats
         8000 next
         9000 a answers round 1: teres minor
         9100 a answers round 3: teres minor
         9200 c answers deltoid",
    );
}

#[test]
fn strict_spelling_takes_a_misspelt_name() {
    check(
        "strict_spelling_takes_a_misspelt_name",
        "spelling strict
         0 seat a
         0 seat b
         0 seat c
         0 start
         1000 a answers teres
         2000 a answers teres minir
         3000 b answers teres minor
         4000 c answers vastus
         5000 reveal",
    );
}

#[test]
fn the_instructor_closes_and_skips() {
    check(
        "the_instructor_closes_and_skips",
        "plan teres-minor deltoid infraspinatus
         0 next
         0 reveal
         0 skip
         0 pause
         0 seat a
         0 seat b
         0 start
         1000 start
         2000 a answers teres minor
         3000 close
         3100 close
         3200 b answers teres minor
         4000 skip
         4100 a repeats
         4200 skip
         4300 reveal
         5000 next
         6000 a answers deltoid
         7000 skip
         8000 next
         9000 b answers infraspinatus
         9500 close
         10000 reveal
         11000 next",
    );
}

#[test]
fn the_instructor_takes_a_student_out() {
    check(
        "the_instructor_takes_a_student_out",
        "0 seat a
         0 seat b
         0 seat c
         0 start
         1000 a answers teres minor
         2000 b answers deltoid
         3000 remove b
         4000 b answers teres minor
         5000 remove c
         6000 reveal
         7000 remove c",
    );
}

#[test]
fn ties_share_a_place() {
    check(
        "ties_share_a_place",
        "0 seat a
         0 seat b
         0 seat c
         0 seat d
         0 start
         4000 d answers deltoid
         5000 c answers teres minor
         5000 a answers teres minor
         9000 b answers teres minor
         10000 reveal",
    );
}

#[test]
fn signed_residual_time_costs_a_wrong_answer() {
    check(
        "signed_residual_time_costs_a_wrong_answer",
        "rule signed
         0 seat a
         0 seat b
         0 seat c
         0 start
         5000 a answers teres minor
         5000 b answers deltoid
         30000 reveal",
    );
}

/// The commonest wrong answer is set against the right one; of two as common, the nearer.
#[test]
fn the_contrast_at_a_reveal() {
    check(
        "the_contrast_at_a_reveal",
        "plan teres-minor teres-minor teres-minor
         0 seat a
         0 seat b
         0 seat c
         0 start
         1000 a answers deltoid
         1000 b answers deltoid
         1000 c answers teres major
         2000 reveal
         3000 next
         4000 a answers deltoid
         4000 b answers teres major
         4000 c answers teres minor
         5000 reveal
         6000 next
         7000 a answers gluteus maximus
         7000 b answers teres minor
         7000 c answers teres minor
         8000 reveal",
    );
    // Spelt well or not, it was the same muscle.
    check(
        "the_contrast_in_strict_spelling",
        "spelling strict
         0 seat a
         0 seat b
         0 seat c
         0 seat d
         0 start
         1000 a answers teres major
         1000 b answers teres mayor
         1000 c answers deltoid
         1000 d answers deltoid
         2000 reveal",
    );
}

#[test]
fn ended_while_students_gather() {
    check(
        "ended_while_students_gather",
        "0 seat a
         1000 end
         1100 start
         1200 seat b
         1300 a drops
         1400 a returns
         1500 end
         1600 abandon",
    );
}

#[test]
fn ended_in_an_open_round() {
    check(
        "ended_in_an_open_round",
        "0 seat a
         0 seat b
         0 start
         1000 a answers teres minor
         2000 end
         2100 b answers teres minor",
    );
}

#[test]
fn ended_in_a_closed_round() {
    check(
        "ended_in_a_closed_round",
        "0 seat a
         0 seat b
         0 start
         1000 a answers teres minor
         2000 close
         3000 end",
    );
}

#[test]
fn ended_after_a_reveal_and_after_a_skip() {
    check(
        "ended_after_a_reveal",
        "0 seat a
         0 start
         1000 a answers teres minor
         2000 reveal
         3000 end",
    );
    check(
        "ended_after_a_skip",
        "0 seat a
         0 start
         1000 a drops
         2000 skip
         3000 abandon",
    );
}

#[test]
fn a_muscle_alone() {
    check(
        "a_muscle_alone",
        "course one
         plan deltoid deltoid
         0 seat a
         0 start
         1000 a answers deltoid
         2000 reveal
         3000 next
         4000 a answers deltoid
         5000 reveal
         6000 next",
    );
}

#[test]
fn a_movement_is_asked_for() {
    check(
        "a_movement_is_asked_for",
        "plan teres-minor deltoid
         tasks movement
         0 seat a
         0 seat b
         0 seat c
         0 start
         1000 a answers rotation
         2000 a answers external rotation of the arm
         3000 b answers aduction
         3500 b answers adducton
         4000 c answers medial rotation
         5000 reveal
         6000 next
         7000 a answers abducts the upper arm",
    );
}

#[test]
fn a_movement_in_strict_spelling() {
    check(
        "a_movement_in_strict_spelling",
        "plan teres-minor
         tasks movement
         spelling strict
         0 seat a
         0 seat b
         0 seat c
         0 start
         1000 a answers rotation of the arm
         2000 a answers lateral rotation
         3000 b answers latteral rotation
         4000 c answers wiggling
         5000 reveal",
    );
}

#[test]
fn a_picture_is_shown() {
    check(
        "a_picture_is_shown",
        "plan teres-minor deltoid
         tasks picture name
         0 seat a
         0 seat b
         0 start
         1000 a answers teres
         2000 a answers teres minor
         3000 b answers teres major
         5000 reveal
         6000 next
         7000 a answers deltoid",
    );
}
