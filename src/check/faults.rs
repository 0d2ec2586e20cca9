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

use crate::base::Files;
use crate::diagnostic::Diagnostic;
use crate::structure::fault::{Fault, FaultKind};

use phrases::Source;

/// The diagnostic for a fault. `files` are those the fault was found in: they
/// are quoted from.
pub fn diagnose(fault: &Fault, files: &Files) -> Diagnostic {
    let mut told = words_for(&fault.kind, Source::new(files));
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

fn words_for(kind: &FaultKind, source: Source<'_>) -> Diagnostic {
    use FaultKind as F;
    match kind {
        F::UnknownName { at, name, wanted, near } => names::unknown(source, *at, name, *wanted, near),
        F::WrongKindOfName { at, name, found, wanted, declared } => {
            names::wrong_kind(*at, name, *found, *wanted, *declared)
        }
        F::DuplicateName { at, name, what, first, first_what } => {
            source.or_repeated(names::duplicate(name, (*at, *what), (*first, *first_what)), *at, *first)
        }
        F::ReservedName { at, name, what } => names::reserved(*at, name, *what),
        F::Cycle { chain } => names::circular_value(chain),
        F::IndexNotWhole { at, value } => names::index_not_whole(source, *at, *value),
        F::IndexNegative { at, value } => names::index_negative(source, *at, *value),

        F::Use { at, path, refusal } => reading::use_refused(*at, path, refusal),
        F::DuplicateUnits { at, first } => source.or_repeated(reading::duplicate_units(*at, *first), *at, *first),
        F::DuplicateTitle { at, first } => source.or_repeated(reading::duplicate_title(*at, *first), *at, *first),
        F::DuplicateMoments { at, first } => reading::moments_clash(source, *at, *first),
        F::DuplicateFigures { at, first } => reading::figures_clash(source, *at, *first),
        F::FiguresOutOfRange { at, value } => reading::figures_out_of_range(source, *at, *value),
        F::BoundNotWhole { at, value } => reading::bound_not_whole(source, *at, *value),
        F::StepZero { at } => reading::step_zero(source, *at),
        F::TooManyStatements { at, limit } => reading::too_many_statements(source, *at, *limit),
        F::NotInCase { at, keyword } => reading::not_in_case(source, *at, keyword),
        F::NotInBlock { at, keyword } => reading::not_in_block(source, *at, keyword),
        F::UnknownSlug { at, slug } => reading::unknown_slug(*at, slug),
        F::NotSwitchable { at, slug, action } => reading::not_switchable(*at, *slug, *action),

        F::UnitsOfWrongKind { at, wanted, found } => dimensions::units_of_wrong_kind(source, *at, *wanted, *found),
        F::UnknownUnit { at, unit, similar } => dimensions::unknown_unit(source, *at, unit, similar.as_deref()),
        F::AmbiguousTon { at } => dimensions::ambiguous_ton(source, *at),
        F::BarAsUnit { at } => dimensions::bar_as_unit(source, *at),
        F::PoundAsForce { at } => dimensions::pound_as_force(source, *at),
        F::MassAsLoad { at, wanted, text } => dimensions::mass_as_load(*at, *wanted, text),
        F::WrongDimension { at, role, wanted, found, text } => dimensions::wrong(*at, role, *wanted, *found, text),
        F::MixedDimensions { at, left, right } => dimensions::mixed(source, *at, *left, *right),
        F::BareNumber { at, wanted, text } => dimensions::bare_number(*at, *wanted, text),
        F::UnitMissing { at, wanted, text, property, unit } => {
            dimensions::unit_missing(*at, *wanted, text, property.as_deref(), unit)
        }
        F::PureLetElsewhere { at, name, declared, here, there } => {
            dimensions::pure_let_elsewhere(source, *at, name, *declared, here, there)
        }
        F::BareAngle { at, text } => dimensions::bare_angle(*at, text),
        F::ShareHere { at } => dimensions::share_out_of_place(source, *at),
        F::NeighbourOrder { at } => dimensions::neighbour_order(source, *at),

        F::VectorWanted { at, role } => values::vector_wanted(source, *at, role),
        F::ScalarWanted { at, role } => values::scalar_wanted(source, *at, role),
        F::DirectionMissing { at, text } => values::direction_missing(*at, text),
        F::DirectionTwice { at } => values::direction_twice(source, *at),
        F::TowardWithoutJoint { at } => values::toward_without_joint(source, *at),
        F::ZeroDirection { at } => values::zero_direction(source, *at),
        F::DivisionByZero { at } => values::division_by_zero(source, *at),
        F::OutsideDomain { at, function } => values::outside_domain(source, *at, function),
        F::RootOfDimension { at, found, text } => values::root_of_dimension(*at, *found, text),
        F::NotFinite { at } => values::number_out_of_range(source, *at),
        F::PowerNotWhole { at } => values::power_not_whole(source, *at),
        F::ArgumentCount { at, function, found } => values::argument_count(*at, function, *found),
        F::ScalarAndVector { at, vector, scalar } => values::scalar_and_vector(source, *at, *vector, *scalar),
        F::VectorProduct { at } => values::product_of_vectors(source, *at),
        F::FieldOfScalar { at, axis } => values::component_of_scalar(source, *at, *axis),

        F::MemberOnItself { at, joint } => members::on_itself(source, *at, joint),
        F::DuplicateMember { at, name, first } => {
            source.or_repeated(members::duplicate(source, *at, name, *first), *at, *first)
        }
        F::HingedElsewhere { at, joint } => members::hinged_elsewhere(*at, joint),
        F::NoSuchMember { at, a, b, way } => members::no_such_member(source, *at, (a, b), way),
        F::UnknownProperty { at, name, of, known, similar } => {
            members::unknown_property(source, *at, name, of, known, similar.as_deref())
        }
        F::DuplicateProperty { at, name, first } => members::duplicate_property(*at, name, *first),
        F::NotPositive { at, name } => members::not_positive(source, *at, name),
        F::NotRigid { at, name } => members::not_rigid(*at, name),

        F::DuplicateSupport { at, joint, first } => {
            source.or_repeated(supports::duplicate(*at, joint, *first), *at, *first)
        }
        F::SettleWithoutSupport { at, joint } => supports::settle_without_support(*at, joint),
        F::SettleNotHeld { at, joint, support, freedom, stated } => {
            supports::settle_not_held(*at, joint, support, *freedom, *stated)
        }

        F::SettlePartFree { at, joint, support, part, stated } => {
            supports::settle_part_free(*at, joint, support, *part, *stated)
        }
        F::LiftSideUnsaid { at, joint, sides } => supports::lift_side_unsaid(*at, joint, *sides),

        F::TurnUnsaid { at, text, stated } => loads::turn_unsaid(source, *at, text, *stated),
        F::CoupleAtHinge { at, joint, before, after, hinge } => {
            loads::couple_at_hinge(*at, joint, before, after, *hinge)
        }
        F::NoProjection { at, chain, measure } => loads::no_projection(*at, chain, *measure),
        F::PositionOutside { at, length, value } => loads::position_outside(source, *at, *length, *value),
        F::StretchReversed { at } => loads::stretch_reversed(source, *at),
        F::PositionMissing { at, text } => loads::position_missing(*at, text),
        F::ClauseNotForJoint { at, clause } => loads::clause_not_for_joint(source, *at, clause),
        F::ClausesClash { at, clause, with } => loads::clauses_clash(source, *at, clause, with),
        F::NoWeight { at, member, missing, lacking } => loads::weight_unknown(*at, member, *missing, *lacking),
        F::NoExpansion { at, member, lacking } => loads::expansion_unknown(*at, member, *lacking),
        F::SpacingCount { at, loads, spacings } => travels::spacing_count(*at, *loads, *spacings),
        F::SpacingNegative { at } => travels::spacing_negative(source, *at),
        F::PathDoublesBack { at, member } => travels::path_doubles_back(*at, member),
        F::ComboCycle { chain } => loads::circular_combination(chain),

        F::ClaimWithoutSupport { at, joint } => claims::without_support(*at, joint),
        F::ClaimPlace { at, what, wanted } => claims::place(source, *at, what, wanted),
        F::ClaimSense { at, sense, what, allowed } => claims::sense(*at, sense, what, allowed),
        F::ClaimSide { at, sense, member, is_level } => claims::side(*at, sense, member, *is_level),
        F::ClaimSensesDiffer { at, sense, place } => claims::senses_differ(*at, sense, place),
        F::ClaimLimitNegative { at, relation, opposite } => claims::limit_negative(source, *at, *relation, *opposite),
        F::ClaimRelationOfVector { at } => claims::compares_vector(source, *at),
        F::ClaimCaseUnsaid { at, names, total } => claims::case_unsaid(*at, names, *total),
        F::ClaimCaseTwice { at } => claims::case_twice(source, *at),
        F::DegreeNotWhole { at, value } => claims::degree_not_whole(source, *at, *value),
    }
}
