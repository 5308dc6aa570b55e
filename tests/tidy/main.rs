//! Rules about the tree: what stands where, who depends on whom, and what no file holds.

mod crates;
mod files;
mod packages;
