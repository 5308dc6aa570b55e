//! Rules about the tree.
