//! How many connections each address holds. An address from which nobody has signed in gets few,
//! so that a guest who floods the box takes nothing from its crew.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The addresses at the other ends; cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct Peers(Arc<Mutex<Held>>);

#[derive(Debug, Default)]
struct Held {
    peers: HashMap<IpAddr, Peer>,
    strangers: usize,
}

#[derive(Debug, Default)]
struct Peer {
    open: usize,
    crew: bool,
}

/// How many connections there may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Most {
    /// From one address that no crew member has signed in from. A browser opens six.
    pub per_stranger: usize,
    /// From all such addresses.
    pub strangers: usize,
    /// From one address that crew has signed in from.
    pub per_crew: usize,
    /// Whether this machine itself is let through uncounted: a proxy before us, a benchmark.
    pub spares_this_machine: bool,
}

impl Default for Most {
    fn default() -> Self {
        Self {
            per_stranger: 16,
            strangers: 256,
            per_crew: 128,
            spares_this_machine: true,
        }
    }
}

/// A connection that is counted until this is dropped.
#[derive(Debug)]
pub(super) struct Counted {
    peers: Peers,
    peer: IpAddr,
    stranger: bool,
}

impl Peers {
    /// Crew has signed in from there: remembered until the server stops. Only they make the table
    /// grow.
    pub fn know(&self, peer: IpAddr) {
        self.held()
            .peers
            .entry(peer.to_canonical())
            .or_default()
            .crew = true;
    }

    /// Counts one more connection, unless there are too many.
    pub(super) fn enter(&self, peer: IpAddr, most: &Most) -> Option<Counted> {
        let peer = peer.to_canonical();
        let spared = most.spares_this_machine && peer.is_loopback();
        let mut held = self.held();
        let (open, crew) = held
            .peers
            .get(&peer)
            .map_or((0, false), |known| (known.open, known.crew));
        let stranger = !crew && !spared;
        let room = spared
            || (crew && open < most.per_crew)
            || (stranger && open < most.per_stranger && held.strangers < most.strangers);
        if !room {
            return None;
        }
        held.peers.entry(peer).or_default().open += 1;
        held.strangers += usize::from(stranger);
        drop(held);
        Some(Counted {
            peers: self.clone(),
            peer,
            stranger,
        })
    }

    /// Whoever panicked while counting left the numbers whole.
    fn held(&self) -> MutexGuard<'_, Held> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Counted {
    fn drop(&mut self) {
        let mut held = self.peers.held();
        held.strangers -= usize::from(self.stranger);
        if let Some(peer) = held.peers.get_mut(&self.peer) {
            peer.open -= 1;
            if peer.open == 0 && !peer.crew {
                held.peers.remove(&self.peer);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stranger_gets_few_and_crew_gets_more() {
        let (peers, most) = (Peers::default(), Most::default());
        let at = |text: &str| text.parse::<IpAddr>().unwrap();
        let (guest, deck) = (at("10.20.0.9"), at("10.20.0.7"));
        let mut open: Vec<_> = (0..16).filter_map(|_| peers.enter(guest, &most)).collect();
        assert_eq!(open.len(), 16);
        assert!(peers.enter(guest, &most).is_none());
        // The same address as a listener for both families writes it.
        assert!(peers.enter(at("::ffff:10.20.0.9"), &most).is_none());
        assert!(peers.enter(deck, &most).is_some(), "others are not hurt");
        open.pop();
        assert!(peers.enter(guest, &most).is_some());
        peers.know(deck);
        let more: Vec<_> = (0..130).filter_map(|_| peers.enter(deck, &most)).collect();
        assert_eq!(more.len(), 128);
    }

    #[test]
    fn all_strangers_together_leave_room_for_crew_and_for_this_machine() {
        let (peers, most) = (Peers::default(), Most::default());
        let mut open = Vec::new();
        for last in 0..32_u8 {
            let peer = IpAddr::from([10, 20, 1, last]);
            open.extend((0..16).filter_map(|_| peers.enter(peer, &most)));
        }
        assert_eq!(open.len(), 256);
        let crew = IpAddr::from([10, 20, 0, 7]);
        assert!(peers.enter(crew, &most).is_none(), "not known yet");
        peers.know(crew);
        assert!(peers.enter(crew, &most).is_some());
        assert!(peers.enter(IpAddr::from([127, 0, 0, 1]), &most).is_some());
        drop(open);
        assert_eq!(peers.held().strangers, 0);
        assert_eq!(peers.held().peers.len(), 1, "only crew is remembered");
    }
}
