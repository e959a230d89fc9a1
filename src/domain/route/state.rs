//! The plan under construction, and the way back to it after a try that failed.

use super::day::Day;
use super::model::Model;
use super::plan::Cost;

/// Not on any technician-day.
pub const NOWHERE: u32 = u32::MAX;

/// Version and emptiness of a day.
#[derive(Debug, Clone, Copy)]
pub struct Mark {
    /// Changes with every change of the order, and back with the old order.
    pub version: u64,
    pub empty: bool,
}

/// All technician-days, what stays out, and the single figure that the search compares.
pub struct State<'m, 'p> {
    pub model: &'m Model<'p>,
    pub days: Vec<Day>,
    /// Technician-day of each stop.
    pub at: Vec<u32>,
    pub absent: Vec<u32>,
    /// Travel, late days and what stays out on one scale.
    pub figure: i64,
    /// What the search asks of a day most often, close together.
    pub marks: Vec<Mark>,
    saved: Vec<Day>,
    saved_marks: Vec<Mark>,
    touched: Vec<u32>,
    is_touched: Vec<bool>,
    saved_absent: Vec<u32>,
    saved_figure: i64,
    next_version: u64,
}

impl<'m, 'p> State<'m, 'p> {
    /// Nothing planned yet.
    pub fn new(model: &'m Model<'p>) -> Self {
        let days: Vec<Day> = (0..model.days.len()).map(|index| Day::new(model, index)).collect();
        let count = u32::try_from(model.stops.len()).unwrap_or(0);
        let figure = model.ways.iter().map(|stop| stop.unserved).sum();
        let marks: Vec<Mark> = (1..).take(days.len()).map(|version| Mark { version, empty: true }).collect();
        Self {
            model,
            saved: days.clone(),
            is_touched: vec![false; days.len()],
            days,
            at: vec![NOWHERE; model.stops.len()],
            absent: (0..count).collect(),
            figure,
            touched: Vec::new(),
            saved_absent: Vec::new(),
            saved_figure: 0,
            next_version: marks.len() as u64,
            marks,
            saved_marks: Vec::new(),
        }
    }

    /// Starts a try: what is touched from here on can be taken back.
    pub fn begin(&mut self) {
        self.touched.clear();
        self.is_touched.fill(false);
        self.saved_absent.clone_from(&self.absent);
        self.saved_figure = self.figure;
        self.saved_marks.clone_from(&self.marks);
    }

    fn touch(&mut self, day: usize) {
        if !self.is_touched[day] {
            self.is_touched[day] = true;
            self.touched.push(u32::try_from(day).unwrap_or(NOWHERE));
            self.saved[day].copy_from(&self.days[day]);
        }
    }

    /// Changes the order of a day and keeps the figure right.
    pub fn change(&mut self, day: usize, change: impl FnOnce(&mut Vec<u32>)) {
        self.touch(day);
        let changed = &mut self.days[day];
        self.figure -= changed.travel + changed.late * self.model.late_weight;
        change(&mut changed.order);
        changed.refresh(self.model);
        self.figure += changed.travel + changed.late * self.model.late_weight;
        self.next_version += 1;
        self.marks[day] = Mark { version: self.next_version, empty: changed.order.is_empty() };
    }

    /// Puts a stop on a day; the caller takes it off `absent`.
    pub fn insert(&mut self, stop: u32, day: usize, position: usize) {
        self.change(day, |order| order.insert(position, stop));
        self.at[stop as usize] = u32::try_from(day).unwrap_or(NOWHERE);
        self.figure -= self.model.ways[stop as usize].unserved;
    }

    /// Notes that a stop has been taken off its day's order.
    pub fn removed(&mut self, stop: u32) {
        self.at[stop as usize] = NOWHERE;
        self.absent.push(stop);
        self.figure += self.model.ways[stop as usize].unserved;
    }

    /// Taking a stop out can make a drive longer where the matrix has shortcuts over third places.
    pub fn touched_keep_time(&self) -> bool {
        self.touched.iter().all(|day| self.days[*day as usize].keeps_time(self.model))
    }

    /// Takes everything back since [`Self::begin`].
    pub fn take_back(&mut self) {
        for day in &self.touched {
            std::mem::swap(&mut self.days[*day as usize], &mut self.saved[*day as usize]);
            for stop in &self.days[*day as usize].order {
                self.at[*stop as usize] = *day;
            }
        }
        std::mem::swap(&mut self.absent, &mut self.saved_absent);
        for stop in &self.absent {
            self.at[*stop as usize] = NOWHERE;
        }
        self.figure = self.saved_figure;
        std::mem::swap(&mut self.marks, &mut self.saved_marks);
    }

    /// The cost in its order of weight.
    pub fn cost(&self) -> Cost {
        let mut cost = Cost::default();
        for stop in &self.absent {
            cost.locks += i64::from(self.model.ways[*stop as usize].locked);
            cost.unserved += i64::from(self.model.problem.stops[*stop as usize].priority);
        }
        for day in &self.days {
            cost.late += day.late;
            cost.travel += day.travel;
            cost.uneven += day.length(self.model).pow(2);
        }
        cost
    }

    /// The orders alone.
    pub fn orders(&self) -> Vec<Vec<u32>> {
        self.days.iter().map(|day| day.order.clone()).collect()
    }
}
