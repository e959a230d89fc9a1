//! Tables that are brought to us: which columns each kind takes, what a cell must say, and which column of a
//! file is probably meant. The rules of a cell are those of the forms; what a form refuses, a table refuses.

mod cell;
mod columns;
mod guess;
mod row;

pub use cell::{What, read_cell};
pub use columns::Column;
pub use guess::guess;
pub use row::{Fault, Mapping, Row, read_row};

/// What a table holds, one to a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Customers with their addresses.
    Customers,
    /// Sites of customers that are entered already.
    Sites,
    /// Plants of sites that are entered already.
    Plants,
    /// Products, without what their labels say.
    Products,
    /// What was applied before.
    Applications,
}

impl Kind {
    /// Every kind, in the order in which they build on each other.
    pub const ALL: [Self; 5] =
        [Self::Customers, Self::Sites, Self::Plants, Self::Products, Self::Applications];

    /// The code used in the database, in addresses and in forms.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Customers => "customers",
            Self::Sites => "sites",
            Self::Plants => "plants",
            Self::Products => "products",
            Self::Applications => "applications",
        }
    }

    /// The kind of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// For people: so many of them.
    #[must_use]
    pub fn words(self, count: i64) -> &'static str {
        match (self, count == 1) {
            (Self::Customers, true) => "customer",
            (Self::Customers, false) => "customers",
            (Self::Sites, true) => "site",
            (Self::Sites, false) => "sites",
            (Self::Plants, true) => "plant record",
            (Self::Plants, false) => "plant records",
            (Self::Products, true) => "product",
            (Self::Products, false) => "products",
            (Self::Applications, true) => "application record",
            (Self::Applications, false) => "application records",
        }
    }

    /// For people: the table's name.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Customers => "Customers",
            Self::Sites => "Sites",
            Self::Plants => "Plants",
            Self::Products => "Products",
            Self::Applications => "Past applications",
        }
    }

    /// What a line is, and what must be there before.
    #[must_use]
    pub fn hint(self) -> &'static str {
        match self {
            Self::Customers => "One customer to a line.",
            Self::Sites => "One site to a line, on land of its own. Its customer must be entered.",
            Self::Plants => "One plant record to a line. Its site must be entered.",
            Self::Products => {
                "One product to a line. Its label is typed from the label in hand and signed afterwards."
            }
            Self::Applications => {
                "One product on one plant to a line. Lines of one day, site, person and hour make one record. Site \
                 and product must be entered, the product with its label."
            }
        }
    }

    /// The columns that it takes, in their order.
    #[must_use]
    pub fn columns(self) -> &'static [Column] {
        columns::of(self)
    }

    /// The place of a column of that code.
    #[must_use]
    pub fn place(self, code: &str) -> Option<usize> {
        self.columns().iter().position(|column| column.code == code)
    }
}

/// So many lines fit one table.
pub const MOST_LINES: u32 = 1_000_000;
/// So many lines of past applications: each becomes a link of the chain, which others wait for meanwhile.
pub const MOST_APPLICATIONS: u32 = 20_000;
/// So many columns may a file have.
pub const MOST_COLUMNS: usize = 200;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_read_back_and_columns_are_told_apart() {
        for kind in Kind::ALL {
            assert_eq!(Kind::from_code(kind.code()), Some(kind));
            let mut codes: Vec<&str> = kind.columns().iter().map(|c| c.code).collect();
            let all = codes.len();
            assert!(all <= 28, "a staged line has so many places");
            codes.sort_unstable();
            codes.dedup();
            assert_eq!(codes.len(), all, "{kind:?}");
            assert!(kind.columns().iter().any(|c| c.required));
        }
    }

    #[test]
    fn every_example_is_one() {
        for column in Kind::ALL.into_iter().flat_map(Kind::columns) {
            let read = read_cell(column.what, column.example);
            assert!(matches!(read, Ok(Some(_))), "{}: {read:?}", column.code);
        }
    }
}
