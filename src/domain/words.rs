//! Closed word lists: one macro gives each its stored word, its spoken word and its way back.

/// An enum whose variants are stored as one word and shown as another.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $stored:literal / $shown:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name { $($(#[$vdoc])* $variant),+ }

        impl $name {
            /// Every value, in the order a list shows them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word in the book.
            pub fn stored(self) -> &'static str {
                match self { $(Self::$variant => $stored),+ }
            }

            /// The word on the screen.
            pub fn shown(self) -> &'static str {
                match self { $(Self::$variant => $shown),+ }
            }

            /// From the word in the book.
            pub fn from_stored(word: &str) -> Option<Self> {
                match word { $($stored => Some(Self::$variant),)+ _ => None }
            }
        }
    };
}
pub(crate) use words;
