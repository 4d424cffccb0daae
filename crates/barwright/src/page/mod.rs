//! The local page: the bench in the browser on the maker's own computer, of one bar file or of a whole record.
//!
//! Pages are rendered here with `maud`: every part of the page is a function from values to markup, checked
//! by the compiler and escaped by default, with no second language and no template files to ship. Everything
//! works as plain forms (post, then redirect); a small module adds dropping a recording and a live refresh.
//!
//! Nothing but the loopback address is bound, unless the workshop's network is asked for (module `lan`), and requests
//! that name another host or come from another page are refused (module `guard`).
mod assets;
mod changes;
mod compare;
mod devices;
mod drawings;
mod first_run;
mod guard;
mod history;
mod html;
mod live;
mod manual;
mod photo;
mod places;
mod queue;
mod routes;
mod salt;
mod server;
mod state;
mod upload;
mod view;

#[cfg(fuzzing)]
pub use live::doors;
pub use server::{ServeOptions, Server, serve, set_up};
pub use view::BenchView;
