//! The functions an expression may call: their names and how many arguments they take.
//!
//! Must not know: what they give.

/// The functions an expression may call.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Function {
    Sqrt,
    Sin,
    Cos,
    Tan,
    Asin,
    Acos,
    Atan,
    Atan2,
    Abs,
    Min,
    Max,
    Hypot,
}

impl Function {
    pub const ALL: [Function; 12] = [
        Function::Sqrt,
        Function::Sin,
        Function::Cos,
        Function::Tan,
        Function::Asin,
        Function::Acos,
        Function::Atan,
        Function::Atan2,
        Function::Abs,
        Function::Min,
        Function::Max,
        Function::Hypot,
    ];

    pub const fn word(self) -> &'static str {
        match self {
            Function::Sqrt => "sqrt",
            Function::Sin => "sin",
            Function::Cos => "cos",
            Function::Tan => "tan",
            Function::Asin => "asin",
            Function::Acos => "acos",
            Function::Atan => "atan",
            Function::Atan2 => "atan2",
            Function::Abs => "abs",
            Function::Min => "min",
            Function::Max => "max",
            Function::Hypot => "hypot",
        }
    }

    pub fn from_word(word: &str) -> Option<Function> {
        Function::ALL.into_iter().find(|function| function.word() == word)
    }

    /// Fewest and most arguments.
    pub const fn arguments(self) -> (usize, usize) {
        match self {
            Function::Atan2 => (2, 2),
            Function::Hypot => (2, usize::MAX),
            Function::Min | Function::Max => (1, usize::MAX),
            _ => (1, 1),
        }
    }

    /// One line for hovers and help, with the shapes it takes and gives.
    pub const fn summary(self) -> &'static str {
        match self {
            Function::Sqrt => "sqrt(x): the square root; of an area, a length",
            Function::Sin => "sin(angle): the sine, a pure number",
            Function::Cos => "cos(angle): the cosine, a pure number",
            Function::Tan => "tan(angle): the tangent, a pure number",
            Function::Asin => "asin(x): the angle from -90° to 90° with this sine",
            Function::Acos => "acos(x): the angle from 0° to 180° with this cosine",
            Function::Atan => "atan(x): the angle from -90° to 90° with this tangent",
            Function::Atan2 => "atan2(y, x): the angle of the point (x, y), counterclockwise from +x",
            Function::Abs => "abs(x): the size of a quantity, the magnitude of a vector",
            Function::Min => "min(a, b, …): the least",
            Function::Max => "max(a, b, …): the greatest",
            Function::Hypot => "hypot(x, y, …): the root of the sum of the squares",
        }
    }
}
