//! Moment arms, their certainty and the side on which a line passes, against laws of mechanics and
//! against published models of the body. Sources and licences of the models:
//! `tests/reference/biomechanics/README.md`.

mod certainty;
mod chance;
mod compared;
mod hinge;
mod laws;
mod models;
mod passing;
mod postures;
mod published_models;
mod random_linkage;
