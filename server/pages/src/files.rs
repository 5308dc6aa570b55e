//! What browsers load, by its path below `web/`.

macro_rules! files {
    ($($path:literal),* $(,)?) => {
        /// Path and text of each.
        pub(crate) const FILES: &[(&str, &str)] =
            &[$(($path, include_str!(concat!("../web/", $path)))),*];
    };
}

files![
    "board.html",
    "css/base.css",
    "css/desk.css",
    "css/student.css",
    "desk.html",
    "index.html",
    "js/board.js",
    "js/clock.js",
    "js/comeback.js",
    "js/desk-app.js",
    "js/desk-ask.js",
    "js/desk-choose.js",
    "js/desk-fields.js",
    "js/desk-frame.js",
    "js/desk-front.js",
    "js/desk-hand.js",
    "js/desk-join.js",
    "js/desk-kept.js",
    "js/desk-map.js",
    "js/desk-model.js",
    "js/desk-open.js",
    "js/desk-order.js",
    "js/desk-part.js",
    "js/desk-report.js",
    "js/desk-roll.js",
    "js/desk-round.js",
    "js/desk.js",
    "js/dom.js",
    "js/ids.js",
    "js/live.js",
    "js/picture.js",
    "js/reveal.js",
    "js/seat.js",
    "js/sitting.js",
    "js/state.js",
    "js/student-answer.js",
    "js/student-app.js",
    "js/student-end.js",
    "js/student-frame.js",
    "js/student-group.js",
    "js/student-join.js",
    "js/student-result.js",
    "js/student-round.js",
    "js/student-still.js",
    "js/student-views.js",
    "js/student.js",
    "js/words.js",
];
