//! Typed indices into the lists of a structure, and of the files of a run.

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
    )*};
}

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
    ComboId,
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
