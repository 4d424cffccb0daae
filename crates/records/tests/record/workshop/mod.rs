//! The workshop's record from outside: a story, its safety, its search. All names and numbers are invented.
mod clock_back;
mod common;
mod copies;
mod damage;
mod everything;
mod exchange;
mod frame;
mod kills;
mod power;
mod programs;
mod schema;
mod search;
mod stored;
mod story;
