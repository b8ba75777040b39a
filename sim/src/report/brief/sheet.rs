//! What a brief says, before it is laid out: blocks of lines, and the notes that say where each
//! number comes from.

/// A stretch of a line in one look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stretch {
    /// Plain text.
    Plain(String),
    /// Text that stands out.
    Strong(String),
    /// The number of a note.
    Mark(usize),
}

/// One line of text; it wraps where it must.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Line(pub Vec<Stretch>);

impl Line {
    /// An empty line.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// With more plain text.
    #[must_use]
    pub fn plain(mut self, text: impl Into<String>) -> Self {
        self.0.push(Stretch::Plain(text.into()));
        self
    }

    /// With more text that stands out.
    #[must_use]
    pub fn strong(mut self, text: impl Into<String>) -> Self {
        self.0.push(Stretch::Strong(text.into()));
        self
    }

    /// With the mark of a note.
    #[must_use]
    pub fn mark(mut self, note: usize) -> Self {
        self.0.push(Stretch::Mark(note));
        self
    }

    /// Its words without looks and marks.
    #[must_use]
    pub fn words(&self) -> String {
        self.0
            .iter()
            .map(|s| match s {
                Stretch::Plain(t) | Stretch::Strong(t) => t.as_str(),
                Stretch::Mark(_) => "",
            })
            .collect()
    }
}

/// What a section is made of.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// The head of one cut or the like.
    Head(Line),
    /// A paragraph.
    Text(Line),
    /// A point of a list.
    Item(Line),
    /// A point of a list to be ticked off by hand.
    Tick(Line),
    /// A name for what is to be filled in by hand, and a line to write on.
    Blank(String),
}

/// A section of the brief.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// A short word, its own among the sections.
    pub id: &'static str,
    /// Its heading.
    pub title: String,
    /// What is in it.
    pub blocks: Vec<Block>,
}

/// Where numbers come from: each note once, numbered from 1 in the order of first use.
#[derive(Clone, Debug, Default)]
pub struct Sources(Vec<String>);

impl Sources {
    /// The number of a note; the same text has the same number.
    pub fn of(&mut self, text: impl Into<String>) -> usize {
        let text = text.into();
        if let Some(at) = self.0.iter().position(|t| *t == text) {
            return at + 1;
        }
        self.0.push(text);
        self.0.len()
    }

    /// The notes in order.
    #[must_use]
    pub fn texts(&self) -> &[String] {
        &self.0
    }
}
