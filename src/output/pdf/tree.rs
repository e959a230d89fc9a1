//! The structure of a document for readers by ear, kept flat while pages are laid out.
use krilla::tagging::{Identifier, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};
use std::num::NonZeroU16;

/// What a part of the document is.
#[derive(Debug, Clone)]
pub enum Role {
    Title,
    Heading,
    Words,
    Table,
    Row,
    HeadCell,
    Cell,
    /// With the words that stand for it.
    Picture(String),
}

impl Role {
    fn tag(&self) -> TagKind {
        match self {
            Self::Title => Tag::Hn(NonZeroU16::MIN, None).into(),
            Self::Heading => Tag::Hn(NonZeroU16::MIN.saturating_add(1), None).into(),
            Self::Words => Tag::P.into(),
            Self::Table => Tag::Table.into(),
            Self::Row => Tag::TR.into(),
            Self::HeadCell => Tag::TH(TableHeaderScope::Column).into(),
            Self::Cell => Tag::TD.into(),
            Self::Picture(words) => Tag::Figure(Some(words.clone())).into(),
        }
    }
}

/// A place in the tree.
pub type Node = usize;

struct Held {
    parent: Option<Node>,
    role: Role,
    marks: Vec<Identifier>,
}

/// The tree while it grows; parents come before their children.
#[derive(Default)]
pub struct Tree(Vec<Held>);

impl Tree {
    pub fn add(&mut self, parent: Option<Node>, role: Role) -> Node {
        self.0.push(Held { parent, role, marks: vec![] });
        self.0.len() - 1
    }

    /// What was drawn belongs to this node.
    pub fn mark(&mut self, node: Node, drawn: Identifier) {
        if let Some(held) = self.0.get_mut(node) {
            held.marks.push(drawn);
        }
    }

    /// The tree as the writer takes it.
    pub fn finish(self, language: &str) -> TagTree {
        let mut groups: Vec<TagGroup> = vec![];
        let mut parents = vec![];
        for held in self.0 {
            let mut group = TagGroup::new(held.role.tag());
            held.marks.into_iter().for_each(|mark| group.push(mark));
            groups.push(group);
            parents.push(held.parent);
        }
        let mut kept: Vec<Vec<TagGroup>> = groups.iter().map(|_| vec![]).collect();
        let mut roots = vec![];
        // Children stand behind their parents: from the end every group is whole when its turn comes.
        while let (Some(mut group), Some(parent)) = (groups.pop(), parents.pop()) {
            let children = kept.get_mut(groups.len()).map(std::mem::take).unwrap_or_default();
            children.into_iter().rev().for_each(|child| group.push(child));
            match parent.and_then(|parent| kept.get_mut(parent)) {
                Some(siblings) => siblings.push(group),
                None => roots.push(group),
            }
        }
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        roots.into_iter().rev().for_each(|root| tree.push(root));
        tree
    }
}
