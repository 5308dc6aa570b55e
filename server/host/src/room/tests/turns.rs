//! Rooms of one server that take turns.

use super::*;

/// Two rooms come to a clue in the same instant. When the one's class has been told, whoever waits
/// is heard before the other tells its own; and all are told in the end.
#[tokio::test(start_paused = true)]
async fn rooms_take_turns_at_telling_their_classes() {
    let turns = Turns::default();
    let houses = [0, 1].map(|_| House::open_beside(&turns));
    let [mut first, mut second] =
        [Ear::class(&houses[0], 20).await, Ear::class(&houses[1], 20).await];
    for house in &houses {
        let teacher = house.enter(0, Entrant::Conduct { key: None }).await;
        house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    }
    first[0].until_student(is_opened).await;
    for student in &mut second {
        student.hears_nothing_like(is_opened);
    }
    for student in first.iter_mut().skip(1).chain(&mut second) {
        student.until_student(is_opened).await;
    }
}

/// A room that waits for its turn and then for a disk lets the others go on.
#[tokio::test(start_paused = true)]
async fn a_room_that_cannot_save_keeps_nobody_waiting() {
    let turns = Turns::default();
    let house = House::open_beside(&turns);
    let mut class = Ear::class(&house, 20).await;
    let taken = turns.mine().await;
    let teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    tokio::time::sleep(Duration::from_secs(1)).await;
    for student in &mut class {
        student.hears_nothing_like(is_opened);
    }
    house.log.set_full(true);
    house.answer(&class[0], 1, "deltoid").await;
    class[0].until_student(|m| matches!(m, ToStudent::Trouble { .. })).await;
    drop(taken);
    // Nobody was before us but that room, which has given up its place until it tries again.
    timeout(Duration::from_millis(500), turns.mine()).await.expect("a turn");
    house.log.set_full(false);
    class[1].until_student(|m| matches!(m, ToStudent::Seated { .. })).await;
}
