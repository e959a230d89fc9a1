//! What the planner is asked: places, technician-days and stops.
//!
//! Times are whole numbers on one scale that the caller chooses for the whole
//! problem (minutes, seconds) from a zero that the caller chooses too; travel
//! is in the same unit. A week is one problem: Tuesday's times lie after
//! Monday's.

/// Most technician-days of one problem.
pub const MAX_DAYS: usize = 1_000;
/// Most stops of one problem.
pub const MAX_STOPS: usize = 5_000;
/// Most places of one problem.
pub const MAX_NODES: usize = 6_000;
/// Most breaks of one technician-day.
pub const MAX_BREAKS: usize = 3;
/// Longest travel between two places.
pub const MAX_TRAVEL: i64 = 100_000_000;
/// Times lie between this far before zero and this far after it.
pub const MAX_TIME: i64 = 1_000_000_000_000;
/// How many loads are counted apart: say, tank mix and plain water.
pub const LOADS: usize = 2;

/// What a stop takes from the truck, in whole units that the caller chooses per place in the list
/// (millilitres, for instance).
pub type Load = [i64; LOADS];

/// From one time to another, both included; `from <= to`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Span {
    /// Earliest time.
    pub from: i64,
    /// Latest time.
    pub to: i64,
}

impl Span {
    /// A span.
    pub fn new(from: i64, to: i64) -> Self {
        Self { from, to }
    }

    /// Does that time lie in it?
    pub fn holds(self, time: i64) -> bool {
        self.from <= time && time <= self.to
    }
}

/// Travel times between places; there and back may differ.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Matrix {
    nodes: usize,
    cells: Vec<i32>,
    /// The same by columns, so that all ways to one place lie side by side.
    turned: Vec<i32>,
}

impl Matrix {
    /// A matrix from its rows. `None` unless it is square, of at most [`MAX_NODES`] places, and every
    /// travel time lies from 0 to [`MAX_TRAVEL`].
    pub fn new(rows: &[Vec<i64>]) -> Option<Self> {
        let nodes = rows.len();
        if nodes > MAX_NODES || rows.iter().any(|row| row.len() != nodes) {
            return None;
        }
        let fits = |cell: &i64| i32::try_from(*cell).ok().filter(|_| (0..=MAX_TRAVEL).contains(cell));
        let cells: Option<Vec<i32>> = rows.iter().flatten().map(fits).collect();
        let cells = cells?;
        let turned = (0..nodes * nodes).map(|at| cells[at % nodes * nodes + at / nodes]).collect();
        Some(Self { nodes, cells, turned })
    }

    /// How many places there are.
    pub fn nodes(&self) -> usize {
        self.nodes
    }

    /// Travel time from one place to another.
    ///
    /// # Panics
    /// For a place that the matrix does not have.
    #[inline]
    pub fn travel(&self, from: usize, to: usize) -> i64 {
        i64::from(self.cells[from * self.nodes + to])
    }

    /// Travel times from all places to one.
    pub(super) fn ways_to(&self, node: usize) -> &[i32] {
        &self.turned[node * self.nodes..(node + 1) * self.nodes]
    }

    /// Travel times from one place to all.
    pub(super) fn ways_from(&self, node: usize) -> &[i32] {
        &self.cells[node * self.nodes..(node + 1) * self.nodes]
    }

    /// The longest travel time of all.
    pub fn longest(&self) -> i64 {
        i64::from(self.cells.iter().copied().max().unwrap_or(0))
    }
}

/// A pause of one technician-day. It is taken where the technician is, between stops; a day that is
/// over by the latest start needs none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Break {
    /// Earliest and latest start.
    pub start: Span,
    /// How long it takes.
    pub length: i64,
}

/// One technician on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TechnicianDay {
    /// Name, different for each.
    pub id: String,
    /// Number of the calendar day, for release and due days; any zero.
    pub day: i32,
    /// Place where the day starts.
    pub start: usize,
    /// Place where it ends.
    pub end: usize,
    /// Working hours: not away before, back by then.
    pub window: Span,
    /// Breaks in their order; each opens no earlier than the one before.
    pub breaks: Vec<Break>,
    /// What the truck holds; `None`: no limit.
    pub capacity: [Option<i64>; LOADS],
    /// What the technician may do.
    pub skills: Vec<String>,
}

/// A stop that may not move: the plan is made around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Lock {
    /// Position of its technician-day in the list.
    pub day: usize,
    /// Work starts exactly then, whatever the stop's own windows say.
    pub start: Option<i64>,
    /// Locked stops of one technician-day keep this order among themselves; others may come between.
    pub order: Option<u32>,
}

/// One stop: a visit to a site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// Name, different for each.
    pub id: String,
    /// Its place.
    pub node: usize,
    /// How long the work takes.
    pub service: i64,
    /// When work may start: inside one of these, in time order and apart. Empty: never.
    pub windows: Vec<Span>,
    /// What it takes from the truck.
    pub load: Load,
    /// Skills that the technician must have, all of them.
    pub skills: Vec<String>,
    /// Positions of the technician-days on which it may go; `None`: on any.
    pub only: Option<Vec<usize>>,
    /// Weight of leaving it out, at least 1: the plan leaves out the smallest sum.
    pub priority: u32,
    /// Not before this day.
    pub release: Option<i32>,
    /// Each day after this is a late day.
    pub due: Option<i32>,
    /// What one late day counts, say the number of plants that lose protection.
    pub late_cost: u32,
    /// Where it is locked.
    pub locked: Option<Lock>,
}

impl Stop {
    /// Late days times their cost on a day with that number.
    pub fn late_on(&self, day: i32) -> i64 {
        let late = self.due.map_or(0, |due| (i64::from(day) - i64::from(due)).max(0));
        late * i64::from(self.late_cost)
    }

    /// When work may start, a lock's time standing above the stop's own windows.
    pub fn starts(&self) -> Vec<Span> {
        match self.locked.and_then(|lock| lock.start) {
            Some(start) => vec![Span::new(start, start)],
            None => self.windows.clone(),
        }
    }
}

/// The whole question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Travel times.
    pub matrix: Matrix,
    /// Technician-days.
    pub days: Vec<TechnicianDay>,
    /// Stops.
    pub stops: Vec<Stop>,
}
