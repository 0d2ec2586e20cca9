//! What a search may cost, so that small texts cannot ask for much: counted
//! before it is spent, in whatever unit the search reckons in.
//!
//! Must not know: what is searched for.

#[derive(Debug)]
pub struct Budget {
    left: usize,
}

impl Budget {
    pub const fn of(most: usize) -> Budget {
        Budget { left: most }
    }

    /// Takes a cost; `false`, and nothing is taken, where too little is left.
    pub const fn take(&mut self, cost: usize) -> bool {
        let has_room = cost <= self.left;
        if has_room {
            self.left -= cost;
        }
        has_room
    }
}
