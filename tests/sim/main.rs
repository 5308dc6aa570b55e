//! Random plans.
