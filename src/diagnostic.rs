//! What a diagnostic is, and the one catalogue of slugs.
//!
//! Must not know: how a diagnostic is shown.

pub mod catalogue;

pub use catalogue::{Family, Slug};

use crate::base::{FileId, JointId, MemberId, Origin, Span};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The answer, if any, is not to be used.
    Error,
    Warning,
    /// Worth knowing; no change is needed.
    Information,
}

impl Severity {
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Information => "remark",
        }
    }
}

/// A place in the source with what is to be said of it. The first label of a
/// diagnostic is its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    pub at: Origin,
    pub text: String,
}

/// A replacement of source text that is certain to be what was meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    pub file: FileId,
    pub span: Span,
    pub replacement: String,
}

/// Something that would put a finding right, and what came of trying it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cure {
    pub kind: CureKind,
    /// What to do, in words.
    pub text: String,
    pub grade: Grade,
    /// The change of the text, where it can be written.
    pub edits: Vec<Edit>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CureKind {
    AddBar(JointId, JointId),
    /// Supports as they are to be stated, each in place of the one its joint has.
    Support(Vec<(JointId, String)>),
    LeaveOut(MemberId),
    LeaveOutHinge(JointId),
    LeaveOutSupport(JointId),
    /// A member stated anew, in place of itself.
    Instead(MemberId, String),
    /// The second joint is the first by another name.
    Merge(JointId, JointId),
    /// A joint put elsewhere.
    Move(JointId),
    /// Ends of beams hinged, and supports stated anew.
    Free {
        hinged: Vec<(MemberId, Vec<JointId>)>,
        supports: Vec<(JointId, String)>,
    },
    /// Members joined to the joints on their way.
    Join(Vec<(MemberId, Vec<JointId>)>),
    /// Words alone.
    Advice,
    /// Words for want of anything better.
    Fallback,
}

/// What the whole check says of the text with a cure made; the best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// No error and no warning is left.
    NothingIsWrong,
    /// It is stable, with so many forces more than statics can resolve.
    Stands { redundant: usize },
    /// It has fewer motions than before.
    StopsThisMotion,
    /// Not tried.
    Advice,
}

impl Cure {
    /// A cure yet to be tried.
    pub fn new(kind: CureKind, text: impl Into<String>) -> Self {
        Cure { kind, text: text.into(), grade: Grade::Advice, edits: Vec::new() }
    }
}

impl Grade {
    /// The word of the formats for programs.
    pub const fn word(self) -> &'static str {
        match self {
            Grade::NothingIsWrong => "then nothing is wrong",
            Grade::Stands { .. } => "then it stands",
            Grade::StopsThisMotion => "this motion stops",
            Grade::Advice => "advice",
        }
    }
}

/// One finding, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    pub slug: Slug,
    pub severity: Severity,
    /// One line, naming the user's own joints and members.
    pub message: String,
    pub labels: Vec<Label>,
    /// The statics or the rule of the language behind it, with numbers.
    pub why: Vec<String>,
    /// What to write instead.
    pub help: Vec<String>,
    pub edits: Vec<Edit>,
    /// What would put it right, the best first.
    pub cures: Vec<Cure>,
}

impl Diagnostic {
    /// A diagnostic of the catalogue's severity for this slug.
    pub fn new(slug: Slug, message: impl Into<String>) -> Self {
        Diagnostic {
            slug,
            severity: slug.severity(),
            message: message.into(),
            labels: Vec::new(),
            why: Vec::new(),
            help: Vec::new(),
            edits: Vec::new(),
            cures: Vec::new(),
        }
    }

    #[must_use]
    pub fn cure(mut self, cure: Cure) -> Self {
        self.cures.push(cure);
        self
    }

    #[must_use]
    pub fn label(mut self, at: Origin, text: impl Into<String>) -> Self {
        self.labels.push(Label { at, text: text.into() });
        self
    }

    #[must_use]
    pub fn why(mut self, text: impl Into<String>) -> Self {
        self.why.push(text.into());
        self
    }

    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    #[must_use]
    pub fn edit(mut self, at: Origin, replacement: impl Into<String>) -> Self {
        self.edits.push(Edit { file: at.file, span: at.span, replacement: replacement.into() });
        self
    }

    /// Where it is: the first label's place.
    pub fn place(&self) -> Option<Origin> {
        self.labels.first().map(|label| label.at)
    }
}
