//! How near is the same: each tolerance with its scale and its reason.
//!
//! Must not know: what is compared.

/// Two numbers nearer each other than this share of their own size are the
/// same: millions of times what one operation on doubles leaves (1e-16), and far
/// below the last figure anybody writes.
pub const SAME: f64 = 1e-9;

/// The same, where but a few operations lie between the two: a place at the end
/// of a member, of the member's length.
pub const ROUNDED: f64 = 1e-12;

/// Where a motion puts something: motions are solved for in doubles and made of
/// size one, which leaves half of their figures.
pub const OF_MOTION: f64 = 1e-7;

/// A number somebody works out and states as a formula is met to this share.
pub const COMPUTED: f64 = 1e-6;

/// Forces below this share of the largest are zero for every claim and page:
/// what eliminations of long girders leave of them stays below it.
pub const ZERO_SHARE: f64 = 1e-9;

/// Of the force that settlements, heat and misfits would cause where nothing
/// gave way, what is left by rounding where everything does stays well below
/// this share; what they really cause in frames of beams is above it.
pub const IMPOSED: f64 = 1e-5;

/// What an elimination leaves of a number that cancels, as a share of what it
/// was the sum of: it takes some more figures than a few operations do.
pub const ELIMINATED: f64 = 1e-10;

/// Where an unknown counts for less than this share of the rest, an equation
/// says nothing of it: too few figures would be left.
pub const WEAK: f64 = 1e-6;

/// On paper nobody sees less of a direction, in radians or degrees, nor a gap
/// or a step that is a smaller share of what is drawn.
pub const TO_THE_EYE: f64 = 1e-6;

/// Less than this share of the largest number in play is the last bits of a
/// solve, which change with every revision of a file.
pub const LAST_BITS: f64 = 1e-14;

/// Of the largest force in play, how much of a sum that should be zero may be
/// left where a result is to be used.
pub const BALANCE: f64 = 1e-9;

/// Of what counts as zero, the share that may be rounding in what does not.
pub const DUST: f64 = 1e-3;

/// Of the structure's size, what moves no farther than this has not moved: a few
/// units in the last place of a coordinate.
pub const STILL: f64 = 1e-15;

/// A slope below this share of a member's run, or of its rise, is none: such a
/// member has no left and right, or no above and below.
pub const SLOPE: f64 = 1e-6;

/// A sum of forces or moments that should be zero: a larger share of its largest
/// term than this is left only where the layout magnifies rounding.
pub const MAGNIFIED: f64 = 1e-7;
