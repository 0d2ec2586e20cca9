//! The functions an expression may call: their names and how many arguments they take.
//!
//! Must not know: what they give.

/// A row each: the function, its word, its fewest and most arguments, and a
/// line for help with the shapes it takes and gives.
macro_rules! functions {
    ($($name:ident $word:literal $arguments:expr, $summary:literal;)+) => {
        /// The functions an expression may call.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Function {
            $($name,)+
        }

        impl Function {
            pub const ALL: &[Function] = &[$(Function::$name),+];

            pub const fn word(self) -> &'static str {
                match self { $(Function::$name => $word,)+ }
            }

            /// Fewest and most arguments.
            pub const fn arguments(self) -> (usize, usize) {
                match self { $(Function::$name => $arguments,)+ }
            }

            pub const fn summary(self) -> &'static str {
                match self { $(Function::$name => $summary,)+ }
            }
        }
    };
}

const MANY: usize = usize::MAX;

functions! {
    Sqrt "sqrt" (1, 1), "sqrt(x): the square root; of an area, a length";
    Sin "sin" (1, 1), "sin(angle): the sine, a pure number";
    Cos "cos" (1, 1), "cos(angle): the cosine, a pure number";
    Tan "tan" (1, 1), "tan(angle): the tangent, a pure number";
    Asin "asin" (1, 1), "asin(x): the angle from -90° to 90° with this sine";
    Acos "acos" (1, 1), "acos(x): the angle from 0° to 180° with this cosine";
    Atan "atan" (1, 1), "atan(x): the angle from -90° to 90° with this tangent";
    Atan2 "atan2" (2, 2), "atan2(y, x): the angle of the point (x, y), counterclockwise from +x";
    Abs "abs" (1, 1), "abs(x): the size of a quantity, the magnitude of a vector";
    Min "min" (1, MANY), "min(a, b, …): the least";
    Max "max" (1, MANY), "max(a, b, …): the greatest";
    Hypot "hypot" (2, MANY), "hypot(x, y, …): the root of the sum of the squares";
}

impl Function {
    pub fn from_word(word: &str) -> Option<Function> {
        Function::ALL.iter().copied().find(|function| function.word() == word)
    }
}
