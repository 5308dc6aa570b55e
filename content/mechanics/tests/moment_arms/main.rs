//! Moment arms, their certainty and the side on which a line passes, against laws of mechanics and
//! against published models of the body. Sources and licences of the models:
//! `tests/reference/biomechanics/README.md`.

mod compared;
mod models;
mod postures;
mod published_models;
