//! What can go wrong with numbers, as data; words are made elsewhere.

/// Why a numeric request has no answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumericError {
    /// An entry names a row the matrix does not have: row 2 of a matrix of two rows.
    RowOutOfRange { row: u32, column: u32 },
    /// A floating entry is infinite or not a number: `1e400`.
    NotFinite { row: u32, column: u32 },
    /// A right side of the wrong length, or blocks that do not add up to the rows.
    Mismatch { expected: usize, found: usize },
    /// A right side holds an infinity or a NaN.
    NotFiniteRight { row: usize },
    /// A column's flexibility is negative or not finite, or it is coupled twice or to no other column: −1.
    NotAFlexibility { column: u32 },
    /// A square system was asked for and the matrix is not square: three bars on two rows.
    NotSquare { rows: usize, columns: usize },
    /// The factorisation met a pivot that is zero in double precision: two rows alike.
    Singular,
    /// More work or memory than the named limits allow: a dense matrix of 1e5 rows.
    TooLarge { entries: u64 },
    /// Random weights and primes kept giving an answer that failed its own proof.
    /// The chance is below 1e-9; it is reported, never guessed around.
    Unlucky,
    /// Memory for the factors could not be had.
    OutOfMemory,
}
