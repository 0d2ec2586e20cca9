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
mod values;

use crate::base::Files;
use crate::diagnostic::Diagnostic;
use crate::structure::fault::{Fault, FaultKind, Near};

use phrases::Here;

/// The diagnostic for a fault. `files` are those the fault was found in: they
/// are quoted from.
pub fn diagnose(fault: &Fault, files: &Files) -> Diagnostic {
    let mut told = words_for(&fault.kind, Here { files, at: fault.at });
    for read in &fault.reads {
        let label = match read.dimension {
            Some(dimension) => format!("`{}` is {}, given here", read.name, dimension.name()),
            None => format!("`{}` is placed here", read.name),
        };
        told = told.label(read.declared, label);
    }
    match &fault.turn {
        Some(_) if matches!(&fault.kind, FaultKind::UnknownName { near: Near::PastLastTurn(_), .. }) => told,
        Some(turn) => told.why(format!("First at {turn}.")),
        None => told,
    }
}

fn words_for(kind: &FaultKind, here: Here<'_>) -> Diagnostic {
    use FaultKind as F;
    match kind {
        F::UnknownName { name, wanted, near } => names::unknown(here, name, *wanted, near),
        F::NoSuchLet { name, file, lets, total, near } => {
            names::no_such_let(here, name, file.as_deref(), (lets, *total), near)
        }
        F::SetTwice { name, first } => reading::set_twice(here, name, *first),
        F::WrongKindOfName { name, found, wanted, declared } => {
            names::wrong_kind(here, name, *found, *wanted, *declared)
        }
        F::DuplicateName { name, what, first, first_what } => {
            here.or_repeated(names::duplicate(here, name, *what, (*first, *first_what)), *first)
        }
        F::ReservedName { name, what } => names::reserved(here, name, *what),
        F::Cycle { chain } => names::circular_value(chain),
        F::IndexNotWhole { value } => names::index_not_whole(here, *value),
        F::IndexNegative { value } => names::index_negative(here, *value),

        F::Use { path, refusal } => reading::use_refused(here, path, refusal),
        F::DuplicateUnits { first } => here.or_repeated(reading::duplicate_units(here, *first), *first),
        F::DuplicateTitle { first } => here.or_repeated(reading::duplicate_title(here, *first), *first),
        F::DuplicateMoments { first } => reading::moments_clash(here, *first),
        F::DuplicateFigures { first } => reading::figures_clash(here, *first),
        F::FiguresOutOfRange { value } => reading::figures_out_of_range(here, *value),
        F::BoundNotWhole { value } => reading::bound_not_whole(here, *value),
        F::StepZero => reading::step_zero(here),
        F::TooManyStatements { limit } => reading::too_many_statements(here, *limit),
        F::NotInCase { keyword } => reading::not_in_case(here, keyword),
        F::NotInBlock { keyword } => reading::not_in_block(here, keyword),
        F::UnknownSlug { slug } => reading::unknown_slug(here, slug),
        F::NotSwitchable { slug, action } => reading::not_switchable(here, *slug, *action),

        F::UnitsOfWrongKind { wanted, found } => dimensions::units_of_wrong_kind(here, *wanted, *found),
        F::UnknownUnit { unit, similar } => dimensions::unknown_unit(here, unit, similar.as_deref()),
        F::AmbiguousTon => dimensions::ambiguous_ton(here),
        F::BarAsUnit => dimensions::bar_as_unit(here),
        F::PoundAsForce => dimensions::pound_as_force(here),
        F::MassAsLoad { wanted, text } => dimensions::mass_as_load(here, *wanted, text),
        F::WrongDimension { role, wanted, found, text } => dimensions::wrong(here, role, *wanted, *found, text),
        F::MixedDimensions { left, right } => dimensions::mixed(here, *left, *right),
        F::BareNumber { wanted, text } => dimensions::bare_number(here, *wanted, text),
        F::UnitMissing { wanted, text, property, unit } => {
            dimensions::unit_missing(here, *wanted, text, property.as_deref(), unit)
        }
        F::PureLetElsewhere { name, declared, here: own, there } => {
            dimensions::pure_let_elsewhere(here, name, *declared, own, there)
        }
        F::BareAngle { text } => dimensions::bare_angle(here, text),
        F::ShareHere => dimensions::share_out_of_place(here),
        F::NeighbourOrder => dimensions::neighbour_order(here),

        F::VectorWanted { role } => values::vector_wanted(here, role),
        F::ScalarWanted { role } => values::scalar_wanted(here, role),
        F::DirectionMissing { text } => values::direction_missing(here, text),
        F::DirectionTwice => values::direction_twice(here),
        F::TowardWithoutJoint => values::toward_without_joint(here),
        F::ZeroDirection => values::zero_direction(here),
        F::DivisionByZero => values::division_by_zero(here),
        F::OutsideDomain { function } => values::outside_domain(here, function),
        F::RootOfDimension { found, text } => values::root_of_dimension(here, *found, text),
        F::NotFinite => values::number_out_of_range(here),
        F::PowerNotWhole => values::power_not_whole(here),
        F::ArgumentCount { function, found } => values::argument_count(here, function, *found),
        F::ScalarAndVector { vector, scalar } => values::scalar_and_vector(here, *vector, *scalar),
        F::VectorProduct => values::product_of_vectors(here),
        F::FieldOfScalar { axis } => values::component_of_scalar(here, *axis),

        F::MemberOnItself { joint } => members::on_itself(here, joint),
        F::DuplicateMember { name, first } => here.or_repeated(members::duplicate(here, name, *first), *first),
        F::HingedElsewhere { joint } => members::hinged_elsewhere(here, joint),
        F::NoSuchMember { a, b, way, met } => members::no_such_member(here, (a, b), way, met),
        F::UnknownProperty { name, of, known, similar } => {
            members::unknown_property(here, name, of, known, similar.as_deref())
        }
        F::DuplicateProperty { name, first } => members::duplicate_property(here, name, *first),
        F::NotPositive { name } => members::not_positive(here, name),
        F::NotRigid { name } => members::not_rigid(here, name),

        F::DuplicateSupport { joint, first } => {
            here.or_repeated(members::duplicate_support(here, joint, *first), *first)
        }
        F::SettleWithoutSupport { joint } => members::settle_without_support(here, joint),
        F::SettleNotHeld { joint, support, freedom, stated } => {
            members::settle_not_held(here, joint, support, *freedom, *stated)
        }

        F::SettlePartFree { joint, support, part, stated } => {
            members::settle_part_free(here, joint, support, *part, *stated)
        }
        F::LiftSideUnsaid { joint, sides } => members::lift_side_unsaid(here, joint, *sides),

        F::TurnUnsaid { text, stated } => loads::turn_unsaid(here, text, *stated),
        F::CoupleAtHinge { joint, before, after, hinge } => loads::couple_at_hinge(here, joint, before, after, *hinge),
        F::NoProjection { chain, measure } => loads::no_projection(here, chain, *measure),
        F::PositionOutside { length, value } => loads::position_outside(here, *length, *value),
        F::StretchReversed => loads::stretch_reversed(here),
        F::PositionMissing { text } => loads::position_missing(here, text),
        F::ClauseNotForJoint { clause } => loads::clause_not_for_joint(here, clause),
        F::ClausesClash { clause, with } => loads::clauses_clash(here, clause, with),
        F::NoWeight { member, missing, lacking } => loads::weight_unknown(here, member, *missing, *lacking),
        F::NoExpansion { member, lacking } => loads::expansion_unknown(here, member, *lacking),
        F::SpacingCount { loads, spacings } => loads::spacing_count(here, *loads, *spacings),
        F::SpacingNegative => loads::spacing_negative(here),
        F::PathDoublesBack { member } => loads::path_doubles_back(here, member),
        F::CombinationCycle { chain } => loads::circular_combination(chain),

        F::ClaimWithoutSupport { joint } => claims::without_support(here, joint),
        F::ClaimPlace { what, wanted } => claims::place(here, what, wanted),
        F::ClaimSense { sense, what, allowed } => claims::sense(here, sense, what, allowed),
        F::ClaimSide { sense, member, is_level } => claims::side(here, sense, member, *is_level),
        F::ClaimSensesDiffer { sense, place } => claims::senses_differ(here, sense, place),
        F::ClaimLimitNegative { relation, opposite } => claims::limit_negative(here, *relation, *opposite),
        F::ClaimRelationOfVector => claims::compares_vector(here),
        F::ClaimCaseUnsaid { names, total } => claims::case_unsaid(here, names, *total),
        F::ClaimCaseTwice => claims::case_twice(here),
        F::DegreeNotWhole { value } => claims::degree_not_whole(here, *value),
    }
}
