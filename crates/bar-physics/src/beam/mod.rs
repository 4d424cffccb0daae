//! One-dimensional limits.
