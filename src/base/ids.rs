//! Typed indices into the lists of a structure, and of the files of a run, and
//! the vectors they index.
//!
//! Must not know: what the lists hold.

use std::marker::PhantomData;
use std::ops::{Deref, DerefMut, Index, IndexMut};

/// An index that fits the vectors of its own kind alone.
pub trait Id: Copy {
    /// The id of the item at this place of its list.
    fn new(index: usize) -> Self;
    fn index(self) -> usize;
}

/// A vector indexed by ids of one kind. An id of another vector is a fault of
/// the program, and the one thing in it that may panic: never a quiet zero.
#[derive(Clone, Debug, PartialEq)]
pub struct IdVec<I, T> {
    items: Vec<T>,
    ids: PhantomData<fn(I)>,
}

impl<I: Id, T> IdVec<I, T> {
    pub fn ids(&self) -> impl ExactSizeIterator<Item = I> + DoubleEndedIterator + use<I, T> {
        (0..self.items.len()).map(I::new)
    }

    /// Every item with its id.
    pub fn entries(&self) -> impl ExactSizeIterator<Item = (I, &T)> + DoubleEndedIterator + Clone {
        self.items.iter().enumerate().map(|(index, item)| (I::new(index), item))
    }
}

impl<I: Id, T: Clone> IdVec<I, T> {
    /// One value for each item of another vector.
    pub fn filled<U>(like: &IdVec<I, U>, value: T) -> Self {
        vec![value; like.items.len()].into()
    }
}

impl<I, T> Default for IdVec<I, T> {
    fn default() -> Self {
        IdVec { items: Vec::new(), ids: PhantomData }
    }
}

impl<I, T> From<Vec<T>> for IdVec<I, T> {
    fn from(items: Vec<T>) -> Self {
        IdVec { items, ids: PhantomData }
    }
}

impl<I, T> FromIterator<T> for IdVec<I, T> {
    fn from_iter<S: IntoIterator<Item = T>>(items: S) -> Self {
        items.into_iter().collect::<Vec<T>>().into()
    }
}

impl<I: Id, T> Index<I> for IdVec<I, T> {
    type Output = T;

    fn index(&self, id: I) -> &T {
        &self.items[id.index()]
    }
}

impl<I: Id, T> IndexMut<I> for IdVec<I, T> {
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.items[id.index()]
    }
}

impl<I, T> Deref for IdVec<I, T> {
    type Target = Vec<T>;

    fn deref(&self) -> &Vec<T> {
        &self.items
    }
}

impl<I, T> DerefMut for IdVec<I, T> {
    fn deref_mut(&mut self) -> &mut Vec<T> {
        &mut self.items
    }
}

impl<I, T> IntoIterator for IdVec<I, T> {
    type Item = T;
    type IntoIter = std::vec::IntoIter<T>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.into_iter()
    }
}

impl<'v, I, T> IntoIterator for &'v IdVec<I, T> {
    type Item = &'v T;
    type IntoIter = std::slice::Iter<'v, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.iter()
    }
}

impl<'v, I, T> IntoIterator for &'v mut IdVec<I, T> {
    type Item = &'v mut T;
    type IntoIter = std::slice::IterMut<'v, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.iter_mut()
    }
}

/// Makes kinds of ids, each for the vectors of one kind.
macro_rules! typed_id {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub u32);

        impl $name {
            /// The id of the item at this place of its list. Lists are capped far below `u32::MAX`.
            #[allow(clippy::cast_possible_truncation)]
            pub const fn new(index: usize) -> Self {
                $name(index as u32)
            }

            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }

        impl $crate::base::Id for $name {
            fn new(index: usize) -> Self {
                $name::new(index)
            }

            fn index(self) -> usize {
                $name::index(self)
            }
        }
    )*};
}

pub(crate) use typed_id;

typed_id!(
    /// A joint of the structure, in natural name order.
    JointId,
    /// A member of the structure, in natural name order.
    MemberId,
    /// A support of the structure, in the order of its joints.
    SupportId,
    /// A load case, in natural name order.
    CaseId,
    /// A combination of cases, in natural name order.
    CombinationId,
    /// A travelling train of loads, in natural name order.
    TravelId,
    SectionId,
    MaterialId,
);

/// A source file of one run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

impl FileId {
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}
