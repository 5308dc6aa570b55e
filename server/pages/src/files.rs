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
    "css/board.css",
    "css/student.css",
    "desk.html",
    "index.html",
    "js/board-app.js",
    "js/board-end.js",
    "js/board-fit.js",
    "js/board-frame.js",
    "js/board-gather.js",
    "js/board-join.js",
    "js/board-reveal.js",
    "js/board-round.js",
    "js/board-still.js",
    "js/board-views.js",
    "js/board.js",
    "js/clock.js",
    "js/comeback.js",
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
