//! The one catalogue of slugs: each kind of finding with its severity, a
//! summary, and its page. Slugs are public: never renamed.

use super::Severity;

macro_rules! catalogue {
    ($($variant:ident $slug:literal $severity:ident $summary:literal;)*) => {
        /// A kind of finding.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Slug {
            $(#[doc = $summary] $variant,)*
        }

        impl Slug {
            /// Every slug, in the catalogue's order.
            pub const ALL: &'static [Slug] = &[$(Slug::$variant),*];

            /// The public word for it.
            pub const fn word(self) -> &'static str {
                match self { $(Slug::$variant => $slug,)* }
            }

            pub const fn severity(self) -> Severity {
                match self { $(Slug::$variant => Severity::$severity,)* }
            }

            /// One line, as lists of slugs show it.
            pub const fn summary(self) -> &'static str {
                match self { $(Slug::$variant => $summary,)* }
            }

            /// What `explain` prints: Markdown.
            pub const fn page(self) -> &'static str {
                match self { $(Slug::$variant => include_str!(concat!("pages/", $slug, ".md")),)* }
            }

            pub fn from_word(word: &str) -> Option<Slug> {
                match word { $($slug => Some(Slug::$variant),)* _ => None }
            }
        }
    };
}

catalogue! {
    UnknownToken "unknown-token" Error "a character the notation has no use for";
}
