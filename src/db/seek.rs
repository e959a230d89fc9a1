//! Reading long lists a page at a time: the next page starts at a key, never at a count,
//! so the thousandth page costs what the first one does.
use sqlx::{Postgres, QueryBuilder};
use uuid::Uuid;

/// So many rows make a page.
pub const PAGE: usize = 50;

/// Where in a list the wanted page lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Seek {
    /// The list's beginning.
    #[default]
    First,
    /// Behind this record.
    After(Uuid),
    /// The page that ends just before this record.
    Before(Uuid),
}

/// A page of a list and whether there is more on either side.
#[derive(Debug, Clone)]
pub struct Chunk<T> {
    pub rows: Vec<T>,
    pub earlier: bool,
    pub later: bool,
}

impl Seek {
    /// Puts what was read (one row more than a page, if there is one) into the list's own order.
    pub(super) fn chunk<T>(self, mut rows: Vec<T>) -> Chunk<T> {
        let more = rows.len() > PAGE;
        rows.truncate(PAGE);
        if let Self::Before(_) = self {
            rows.reverse();
            return Chunk { rows, earlier: more, later: true };
        }
        Chunk { rows, earlier: self != Self::First, later: more }
    }
}

/// A table whose list is ordered by the lower case of one column, then by id.
pub(super) struct Order {
    pub table: &'static str,
    pub alias: &'static str,
    pub column: &'static str,
}

impl Order {
    /// Adds the condition that starts the page; call it where a condition may follow.
    pub(super) fn push_start(&self, query: &mut QueryBuilder<Postgres>, seek: Seek) {
        let Self { table, alias, column } = self;
        let (sign, id) = match seek {
            Seek::First => return,
            Seek::After(id) => (">", id),
            Seek::Before(id) => ("<", id),
        };
        query.push(format!(
            " and (lower({alias}.{column}), {alias}.id) {sign} ((select lower({column}) from {table} where id = "
        ));
        query.push_bind(id).push("), ").push_bind(id).push(")");
    }

    /// Adds the order and the limit: one row more than a page, to know whether there is a next one.
    pub(super) fn push_end(&self, query: &mut QueryBuilder<Postgres>, seek: Seek) {
        let Self { alias, column, .. } = self;
        let way = if let Seek::Before(_) = seek { "desc" } else { "asc" };
        query.push(format!(" order by lower({alias}.{column}) {way}, {alias}.id {way} limit {}", PAGE + 1));
    }
}

/// Adds one condition for each word that was searched for: every word must occur somewhere in `text`,
/// which is written as the trigram index has it.
pub(super) fn push_words(query: &mut QueryBuilder<Postgres>, text: &str, searched: &str) {
    for word in searched.split_whitespace().take(8) {
        query.push(format!(" and {text} like ")).push_bind(pattern(word));
    }
}

/// As [`push_words`] where a word may stand in one of several tables: it must be found by one of `sources`,
/// each a query for ids in which `$` stands for the word. Each is answered by its own trigram index, which
/// one condition over two tables could not be. The words must be the statement's first arguments. A source
/// that searches a part of what its index holds names both: the index finds, the part decides.
pub(super) fn push_words_within(
    query: &mut QueryBuilder<Postgres>,
    id: &str,
    searched: &str,
    sources: &[&'static str],
) {
    for (number, word) in (1..).zip(searched.split_whitespace().take(8)) {
        query.push(format!(" and {id} in ("));
        let (mut bound, pattern) = (false, pattern(word));
        for (position, source) in sources.iter().enumerate() {
            query.push(if position > 0 { " union " } else { "" });
            let mut parts = source.split('$');
            query.push(parts.next().unwrap_or_default());
            for part in parts {
                if bound {
                    query.push(format!("${number}"));
                } else {
                    query.push_bind(pattern.clone());
                    bound = true;
                }
                query.push(part);
            }
        }
        query.push(")");
    }
}

/// The word anywhere, its own wildcards taken literally.
fn pattern(word: &str) -> String {
    let mut out = String::from("%");
    for c in word.to_lowercase().chars() {
        if matches!(c, '%' | '_' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
    out.push('%');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wildcards_of_the_searcher_are_letters() {
        assert_eq!(pattern("50%_A\\"), "%50\\%\\_a\\\\%");
    }

    #[test]
    fn a_page_knows_its_neighbours() {
        let many: Vec<usize> = (0..=PAGE).collect();
        let id = Uuid::nil();
        let first = Seek::First.chunk(many.clone());
        assert_eq!((first.rows.len(), first.earlier, first.later), (PAGE, false, true));
        let last = Seek::After(id).chunk(vec![1, 2]);
        assert_eq!((last.rows, last.earlier, last.later), (vec![1, 2], true, false));
        let back = Seek::Before(id).chunk(many);
        assert_eq!((back.rows[0], back.rows[PAGE - 1]), (PAGE - 1, 0), "back in the list's order");
        assert!(back.earlier && back.later);
        assert!(!Seek::Before(id).chunk(vec![1]).earlier);
    }
}
