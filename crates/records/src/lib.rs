//! The workshop's record: bar files now; the embedded database later.
