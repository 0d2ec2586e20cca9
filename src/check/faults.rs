//! Faults of statements put into words: one diagnostic for each, at its place.
//!
//! The families below hold the words; this file only says which fault is told
//! where, so that no fault can be forgotten.
//!
//! Must not know: how faults are found, how a diagnostic is shown.

mod claims;
mod dimensions;
mod loads;
mod members;
mod names;
mod phrases;
mod reading;
mod supports;
mod travels;
mod values;

use crate::base::{Files, Origin};
use crate::diagnostic::Diagnostic;
use crate::structure::fault::{Fault, FaultKind};

use phrases::Source;

/// The diagnostic for a fault. `files` are those the fault was found in: they
/// are quoted from.
pub fn diagnose(fault: &Fault, files: &Files) -> Diagnostic {
    let mut told = words_for(fault.at, &fault.kind, Source::new(files));
    for read in &fault.reads {
        let label = match read.dimension {
            Some(dimension) => format!("`{}` is {}, given here", read.name, dimension.name()),
            None => format!("`{}` is placed here", read.name),
        };
        told = told.label(read.declared, label);
    }
    match &fault.turn {
        Some(turn) => told.why(format!("First met in the turn {turn} of the loop.")),
        None => told,
    }
}

fn words_for(at: Origin, kind: &FaultKind, source: Source<'_>) -> Diagnostic {
    use FaultKind as F;
    match kind {
        F::UnknownName { name, wanted, near } => names::unknown(source, at, name, *wanted, near),
        F::WrongKindOfName { name, found, wanted, declared } => names::wrong_kind(at, name, *found, *wanted, *declared),
        F::DuplicateName { name, what, first, first_what } => {
            source.or_repeated(names::duplicate(name, (at, *what), (*first, *first_what)), at, *first)
        }
        F::ReservedName { name, what } => names::reserved(at, name, *what),
        F::Cycle { chain } => names::circular_value(chain),
        F::IndexNotWhole { value } => names::index_not_whole(source, at, *value),
        F::IndexNegative { value } => names::index_negative(source, at, *value),

        F::Use { path, refusal } => reading::use_refused(at, path, refusal),
        F::DuplicateUnits { first } => source.or_repeated(reading::duplicate_units(at, *first), at, *first),
        F::DuplicateTitle { first } => source.or_repeated(reading::duplicate_title(at, *first), at, *first),
        F::DuplicateMoments { first } => reading::moments_clash(source, at, *first),
        F::DuplicateFigures { first } => reading::figures_clash(source, at, *first),
        F::FiguresOutOfRange { value } => reading::figures_out_of_range(source, at, *value),
        F::BoundNotWhole { value } => reading::bound_not_whole(source, at, *value),
        F::StepZero => reading::step_zero(source, at),
        F::TooManyStatements { limit } => reading::too_many_statements(source, at, *limit),
        F::NotInCase { keyword } => reading::not_in_case(source, at, keyword),
        F::NotInBlock { keyword } => reading::not_in_block(source, at, keyword),
        F::UnknownSlug { slug } => reading::unknown_slug(at, slug),
        F::NotSwitchable { slug, action } => reading::not_switchable(at, *slug, *action),

        F::UnitsOfWrongKind { wanted, found } => dimensions::units_of_wrong_kind(source, at, *wanted, *found),
        F::UnknownUnit { unit, similar } => dimensions::unknown_unit(source, at, unit, similar.as_deref()),
        F::AmbiguousTon => dimensions::ambiguous_ton(source, at),
        F::BarAsUnit => dimensions::bar_as_unit(source, at),
        F::PoundAsForce => dimensions::pound_as_force(source, at),
        F::MassAsLoad { wanted, text } => dimensions::mass_as_load(at, *wanted, text),
        F::WrongDimension { role, wanted, found, text } => dimensions::wrong(at, role, *wanted, *found, text),
        F::MixedDimensions { left, right } => dimensions::mixed(source, at, *left, *right),
        F::BareNumber { wanted, text } => dimensions::bare_number(at, *wanted, text),
        F::UnitMissing { wanted, text, property, unit } => {
            dimensions::unit_missing(at, *wanted, text, property.as_deref(), unit)
        }
        F::PureLetElsewhere { name, declared, here, there } => {
            dimensions::pure_let_elsewhere(source, at, name, *declared, here, there)
        }
        F::BareAngle { text } => dimensions::bare_angle(at, text),
        F::ShareHere => dimensions::share_out_of_place(source, at),
        F::NeighbourOrder => dimensions::neighbour_order(source, at),

        F::VectorWanted { role } => values::vector_wanted(source, at, role),
        F::ScalarWanted { role } => values::scalar_wanted(source, at, role),
        F::DirectionMissing { text } => values::direction_missing(at, text),
        F::DirectionTwice => values::direction_twice(source, at),
        F::TowardWithoutJoint => values::toward_without_joint(source, at),
        F::ZeroDirection => values::zero_direction(source, at),
        F::DivisionByZero => values::division_by_zero(source, at),
        F::OutsideDomain { function } => values::outside_domain(source, at, function),
        F::RootOfDimension { found, text } => values::root_of_dimension(at, *found, text),
        F::NotFinite => values::number_out_of_range(source, at),
        F::PowerNotWhole => values::power_not_whole(source, at),
        F::ArgumentCount { function, found } => values::argument_count(at, function, *found),
        F::ScalarAndVector { vector, scalar } => values::scalar_and_vector(source, at, *vector, *scalar),
        F::VectorProduct => values::product_of_vectors(source, at),
        F::FieldOfScalar { axis } => values::component_of_scalar(source, at, *axis),

        F::MemberOnItself { joint } => members::on_itself(source, at, joint),
        F::DuplicateMember { name, first } => {
            source.or_repeated(members::duplicate(source, at, name, *first), at, *first)
        }
        F::HingedElsewhere { joint } => members::hinged_elsewhere(at, joint),
        F::NoSuchMember { a, b, way } => members::no_such_member(source, at, (a, b), way),
        F::UnknownProperty { name, of, known, similar } => {
            members::unknown_property(source, at, name, of, known, similar.as_deref())
        }
        F::DuplicateProperty { name, first } => members::duplicate_property(at, name, *first),
        F::NotPositive { name } => members::not_positive(source, at, name),
        F::NotRigid { name } => members::not_rigid(at, name),

        F::DuplicateSupport { joint, first } => source.or_repeated(supports::duplicate(at, joint, *first), at, *first),
        F::SettleWithoutSupport { joint } => supports::settle_without_support(at, joint),
        F::SettleNotHeld { joint, support, freedom, stated } => {
            supports::settle_not_held(at, joint, support, *freedom, *stated)
        }

        F::SettlePartFree { joint, support, part, stated } => {
            supports::settle_part_free(at, joint, support, *part, *stated)
        }
        F::LiftSideUnsaid { joint, sides } => supports::lift_side_unsaid(at, joint, *sides),

        F::TurnUnsaid { text, stated } => loads::turn_unsaid(source, at, text, *stated),
        F::CoupleAtHinge { joint, before, after, hinge } => loads::couple_at_hinge(at, joint, before, after, *hinge),
        F::NoProjection { chain, measure } => loads::no_projection(at, chain, *measure),
        F::PositionOutside { length, value } => loads::position_outside(source, at, *length, *value),
        F::StretchReversed => loads::stretch_reversed(source, at),
        F::PositionMissing { text } => loads::position_missing(at, text),
        F::ClauseNotForJoint { clause } => loads::clause_not_for_joint(source, at, clause),
        F::ClausesClash { clause, with } => loads::clauses_clash(source, at, clause, with),
        F::NoWeight { member, missing, lacking } => loads::weight_unknown(at, member, *missing, *lacking),
        F::NoExpansion { member, lacking } => loads::expansion_unknown(at, member, *lacking),
        F::SpacingCount { loads, spacings } => travels::spacing_count(at, *loads, *spacings),
        F::SpacingNegative => travels::spacing_negative(source, at),
        F::PathDoublesBack { member } => travels::path_doubles_back(at, member),
        F::ComboCycle { chain } => loads::circular_combination(chain),

        F::ClaimWithoutSupport { joint } => claims::without_support(at, joint),
        F::ClaimPlace { what, wanted } => claims::place(source, at, what, wanted),
        F::ClaimSense { sense, what, allowed } => claims::sense(at, sense, what, allowed),
        F::ClaimSide { sense, member, is_level } => claims::side(at, sense, member, *is_level),
        F::ClaimSensesDiffer { sense, place } => claims::senses_differ(at, sense, place),
        F::ClaimLimitNegative { relation, opposite } => claims::limit_negative(source, at, *relation, *opposite),
        F::ClaimRelationOfVector => claims::compares_vector(source, at),
        F::ClaimCaseUnsaid { names, total } => claims::case_unsaid(at, names, *total),
        F::ClaimCaseTwice => claims::case_twice(source, at),
        F::DegreeNotWhole { value } => claims::degree_not_whole(source, at, *value),
    }
}
