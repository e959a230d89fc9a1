//! What a message says, as blocks; from them come its plain text, its simple HTML and its letter.
use std::fmt::Write as _;

/// A part of a message, from top to bottom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A paragraph.
    Words(String),
    /// A heading of what follows.
    Heading(String),
    /// Several things of one kind.
    List(Vec<String>),
    /// Lines that stand exactly as they are.
    Exact(String),
    /// The one thing to do.
    Action { words: String, link: String },
    /// What stands below the line: who writes, and how to end it.
    Small(String),
}

/// A message's words, finished.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    pub subject: String,
    pub text: String,
    pub html: String,
}

/// Lines of plain text are broken so that they can be quoted and still fit 80 columns (RFC 5322, 2.1.1, asks for
/// 78 at most).
const COLUMNS: usize = 72;

impl Written {
    /// The words in both forms.
    #[must_use]
    pub fn of(language: &str, subject: &str, blocks: &[Block]) -> Self {
        // A subject is one line: nothing that is filled into it may begin another header.
        let subject: String = subject.split_whitespace().collect::<Vec<_>>().join(" ");
        Self { html: html(language, &subject, blocks), text: text(blocks), subject }
    }
}

fn text(blocks: &[Block]) -> String {
    let mut out = String::new();
    let mut below = false;
    for block in blocks {
        if matches!(block, Block::Small(_)) && !below {
            below = true;
            out.push_str("-- \n");
        }
        match block {
            Block::Words(words) | Block::Small(words) => wrap(&mut out, words, "", ""),
            Block::Heading(words) => {
                wrap(&mut out, words, "", "");
                continue;
            }
            Block::List(items) => items.iter().for_each(|item| wrap(&mut out, item, "- ", "  ")),
            Block::Exact(lines) => {
                let _ = writeln!(out, "{}", lines.trim_end());
            }
            Block::Action { words, link } => {
                wrap(&mut out, words, "", "");
                // An address stands alone on its line, whole: broken it would lead nowhere.
                let _ = writeln!(out, "{link}");
            }
        }
        if !below {
            out.push('\n');
        }
    }
    out
}

/// Breaks at spaces; a word that is longer than a line keeps a line of its own.
fn wrap(out: &mut String, words: &str, first: &str, further: &str) {
    for paragraph in words.lines() {
        let mut line = first.to_owned();
        let mut empty = true;
        for word in paragraph.split_whitespace() {
            if !empty && line.chars().count() + 1 + word.chars().count() > COLUMNS {
                let _ = writeln!(out, "{line}");
                line = further.to_owned();
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        let _ = writeln!(out, "{line}");
    }
}

/// Simple HTML: no picture, no script, no style, nothing fetched from anywhere, so that a reader is not watched.
fn html(language: &str, subject: &str, blocks: &[Block]) -> String {
    let mut out = format!(
        "<!doctype html>\n<html lang=\"{language}\"><head><meta charset=\"utf-8\"><title>{}</title></head><body>\n",
        escape(subject)
    );
    let mut below = false;
    for block in blocks {
        let _ = match block {
            Block::Words(words) => writeln!(out, "<p>{}</p>", lines(words)),
            Block::Heading(words) => writeln!(out, "<h2>{}</h2>", escape(words)),
            Block::List(items) => {
                let items: String = items.iter().map(|i| format!("<li>{}</li>\n", lines(i))).collect();
                writeln!(out, "<ul>\n{items}</ul>")
            }
            Block::Exact(lines) => writeln!(out, "<pre>{}</pre>", escape(lines.trim_end())),
            Block::Action { words, link } => {
                writeln!(out, "<p><a href=\"{}\">{}</a></p>", escape(link), escape(words))
            }
            Block::Small(words) => {
                let rule = if below { "" } else { "<hr>\n" };
                below = true;
                writeln!(out, "{rule}<p><small>{}</small></p>", linked(words))
            }
        };
    }
    out.push_str("</body></html>\n");
    out
}

fn lines(words: &str) -> String {
    words.lines().map(escape).collect::<Vec<_>>().join("<br>\n")
}

/// The words with their addresses as links.
fn linked(words: &str) -> String {
    let word = |word: &str| {
        let safe = escape(word);
        if word.starts_with("http://") || word.starts_with("https://") {
            format!("<a href=\"{safe}\">{safe}</a>")
        } else {
            safe
        }
    };
    let line = |line: &str| line.split(' ').map(word).collect::<Vec<_>>().join(" ");
    words.lines().map(line).collect::<Vec<_>>().join("<br>\n")
}

/// Text as HTML shows it.
#[must_use]
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blocks() -> Vec<Block> {
        vec![
            Block::Words("Dear <Ida>,".into()),
            Block::List(vec![
                "Camellia, by the gate: protected until Mar 15, 2027, which is a long line that breaks"
                    .into(),
            ]),
            Block::Action { words: "Answer here:".into(), link: "https://p.example.test/c/aaaa".into() },
            Block::Small("Bellwether Plant Care, 3 Orchard Row".into()),
            Block::Small("End it: https://p.example.test/u/bbbb".into()),
        ]
    }

    #[test]
    fn plain_text_is_broken_and_addresses_are_not() {
        let long = format!("https://p.example.test/c/{}", "a".repeat(100));
        let mut all = blocks();
        all[2] = Block::Action { words: "Answer here:".into(), link: long.clone() };
        let written = Written::of("en", "One\r\nBcc: all@there.test", &all);
        assert_eq!(written.subject, "One Bcc: all@there.test", "one line");
        insta::assert_snapshot!(Written::of("en", "s", &blocks()).text, @r"
        Dear <Ida>,

        - Camellia, by the gate: protected until Mar 15, 2027, which is a long
          line that breaks

        Answer here:
        https://p.example.test/c/aaaa

        -- 
        Bellwether Plant Care, 3 Orchard Row
        End it: https://p.example.test/u/bbbb
        ");
        assert!(written.text.contains(&format!("\n{long}\n")));
        let short = |line: &str| line.chars().count() <= COLUMNS || line.starts_with("https://");
        assert!(written.text.lines().all(short), "{}", written.text);
    }

    #[test]
    fn html_is_escaped_and_fetches_nothing() {
        let html = Written::of("es", "Sus <plantas>", &blocks()).html;
        assert!(html.contains("<p>Dear &lt;Ida&gt;,</p>") && html.contains("<html lang=\"es\">"), "{html}");
        assert!(html.contains("End it: <a href=\"https://p.example.test/u/bbbb\">"), "{html}");
        assert_eq!(html.matches("<hr>").count(), 1);
        for watched in ["<img", "<script", "style", "src="] {
            assert!(!html.contains(watched), "{watched}");
        }
    }
}
