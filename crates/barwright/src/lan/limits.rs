//! What one address of the network may ask for in a time, and how many lines it may hold open.
use governor::clock::{Clock, MonotonicClock};
use governor::middleware::NoOpMiddleware;
use governor::state::keyed::HashMapStateStore;
use governor::{NotUntil, Quota, RateLimiter};
use std::collections::HashMap;
use std::net::IpAddr;
use std::num::NonZeroU32;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Requests: a bench page is a dozen, and the sound of the microphone comes over one line that is asked for once.
const REQUESTS_AT_ONCE: NonZeroU32 = number(240);
const REQUESTS_A_SECOND: NonZeroU32 = number(20);
/// Tries to pair: a person types a code in some ten seconds.
const PAIRINGS_AT_ONCE: NonZeroU32 = number(8);
const PAIRINGS_A_MINUTE: NonZeroU32 = number(6);
/// Addresses remembered at once; a workshop's network has a few dozen.
const MOST_ADDRESSES: usize = 4096;
/// Lines open at once: a browser opens six, and two more for each page with a microphone.
const LINES_EACH: usize = 32;
const LINES_ALL: usize = 256;

/// A constant that is not nought.
const fn number(value: u32) -> NonZeroU32 {
    match NonZeroU32::new(value) {
        Some(value) => value,
        None => NonZeroU32::MIN,
    }
}

/// Counts by address; what was long enough ago is forgotten.
#[derive(Debug)]
struct Tally<C: Clock> {
    limiter: RateLimiter<IpAddr, HashMapStateStore<IpAddr>, C, NoOpMiddleware<C::Instant>>,
    clock: C,
}

impl<C: Clock + Clone> Tally<C> {
    fn new(quota: Quota, clock: C) -> Self {
        Self { limiter: RateLimiter::hashmap_with_clock(quota, clock.clone()), clock }
    }

    /// Counts one; the time to wait if there were too many.
    fn count(&self, peer: IpAddr) -> Result<(), Duration> {
        if self.limiter.len() >= MOST_ADDRESSES {
            self.limiter.retain_recent();
            if self.limiter.len() >= MOST_ADDRESSES {
                return Err(Duration::from_secs(1));
            }
        }
        let wait = |until: NotUntil<C::Instant>| until.wait_time_from(self.clock.now());
        self.limiter.check_key(&peer).map_err(wait)
    }
}

/// The limits of the door to the network.
#[derive(Debug)]
pub struct Limits {
    requests: Tally<MonotonicClock>,
    pairings: Tally<MonotonicClock>,
    lines: Mutex<HashMap<IpAddr, usize>>,
}

impl Default for Limits {
    fn default() -> Self {
        let requests = Quota::per_second(REQUESTS_A_SECOND).allow_burst(REQUESTS_AT_ONCE);
        let pairings = Quota::per_minute(PAIRINGS_A_MINUTE).allow_burst(PAIRINGS_AT_ONCE);
        Self {
            requests: Tally::new(requests, MonotonicClock),
            pairings: Tally::new(pairings, MonotonicClock),
            lines: Mutex::default(),
        }
    }
}

impl Limits {
    /// Counts a request or a new line.
    ///
    /// # Errors
    /// The time to wait.
    pub fn request(&self, peer: IpAddr) -> Result<(), Duration> {
        self.requests.count(peer)
    }

    /// Counts a try to pair.
    ///
    /// # Errors
    /// The time to wait.
    pub fn pairing(&self, peer: IpAddr) -> Result<(), Duration> {
        self.pairings.count(peer)
    }

    /// A place for one more line from this address; `None` if there is none.
    pub fn line(self: &Arc<Self>, peer: IpAddr) -> Option<Line> {
        let mut lines = self.lines.lock().unwrap_or_else(PoisonError::into_inner);
        if lines.values().sum::<usize>() >= LINES_ALL || lines.get(&peer).is_some_and(|open| *open >= LINES_EACH) {
            return None;
        }
        *lines.entry(peer).or_default() += 1;
        Some(Line { limits: Arc::clone(self), peer })
    }
}

/// An open line; its place is free again once this is dropped.
#[derive(Debug)]
pub struct Line {
    limits: Arc<Limits>,
    peer: IpAddr,
}

impl Drop for Line {
    fn drop(&mut self) {
        let mut lines = self.limits.lines.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(open) = lines.get_mut(&self.peer) {
            *open -= 1;
            if *open == 0 {
                lines.remove(&self.peer);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use governor::clock::FakeRelativeClock;

    fn peer(last: u16) -> IpAddr {
        let [high, low] = last.to_be_bytes();
        IpAddr::from([10, 0, high, low])
    }

    #[test]
    fn one_address_waits_and_the_others_do_not() {
        let clock = FakeRelativeClock::default();
        let tally = Tally::new(Quota::per_minute(PAIRINGS_A_MINUTE).allow_burst(PAIRINGS_AT_ONCE), clock.clone());
        for _ in 0..PAIRINGS_AT_ONCE.get() {
            tally.count(peer(1)).unwrap();
        }
        // Six a minute is one in ten seconds.
        assert_eq!(tally.count(peer(1)).unwrap_err(), Duration::from_secs(10));
        tally.count(peer(2)).unwrap();
        clock.advance(Duration::from_secs(10));
        tally.count(peer(1)).unwrap();
        assert!(tally.count(peer(1)).is_err());
    }

    #[test]
    fn memory_stays_bounded_and_is_given_back() {
        let clock = FakeRelativeClock::default();
        let tally = Tally::new(Quota::per_second(REQUESTS_A_SECOND), clock.clone());
        for n in 0..u16::MAX {
            let _ = tally.count(peer(n));
        }
        assert_eq!(tally.limiter.len(), MOST_ADDRESSES);
        assert!(tally.count(peer(u16::MAX)).is_err(), "a flood of addresses is answered with patience");
        clock.advance(Duration::from_secs(2));
        tally.count(peer(u16::MAX)).unwrap();
        assert_eq!(tally.limiter.len(), 1);
    }

    #[test]
    fn lines_are_counted_and_given_back() {
        let limits = Arc::new(Limits::default());
        let mut open: Vec<Line> = (0..LINES_EACH).map(|_| limits.line(peer(1)).unwrap()).collect();
        assert!(limits.line(peer(1)).is_none());
        let others: Vec<Line> = (2..500).filter_map(|n| limits.line(peer(n))).collect();
        assert_eq!(open.len() + others.len(), LINES_ALL);
        drop(others);
        open.pop();
        assert!(limits.line(peer(1)).is_some());
        drop(open);
        assert!(limits.lines.lock().unwrap().is_empty());
    }
}
