//! What the notation can state and this program does not solve yet: told once
//! each, never answered wrongly.
//!
//! Must not know: equilibrium.

use crate::base::Origin;
use crate::diagnostic::{Diagnostic, Slug};
use crate::statics::{Verdict, VerdictKind};
use crate::structure::{ClaimKind, LoadKind, Structure, SupportKind};
use crate::syntax::tree::{ClaimWhat, MemberKind};

fn tell(found: &mut Vec<Diagnostic>, what: &str, why: &str, places: Vec<Origin>) {
    let Some(first) = places.iter().min() else { return };
    let more = match places.len() {
        1 => String::new(),
        many => format!(", and {} more", many - 1),
    };
    found.push(
        Diagnostic::new(Slug::NotSolvedYet, format!("{what} cannot be solved yet"))
            .label(*first, format!("stated here{more}"))
            .why(why)
            .help("structures of bars and cables on pins and rollers are solved"),
    );
}

/// One finding for each kind of thing, at the first place it stands.
pub fn check_unsolved(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let why = "The file is read and its names and dimensions are checked; no verdict and no forces are given.";
    let mut tell = |what: &str, places: Vec<Origin>| tell(&mut found, what, why, places);
    let beams = structure.members.iter().filter(|member| member.kind == MemberKind::Beam).map(|member| member.origin);
    tell("beams", beams.collect());
    tell("hinges", structure.hinges.iter().map(|(_, origin)| *origin).collect());
    for (what, is) in [
        ("fixed supports", (|kind| matches!(kind, SupportKind::Fixed)) as fn(&SupportKind) -> bool),
        ("guides", |kind| matches!(kind, SupportKind::Guide { .. })),
        ("springs", |kind| matches!(kind, SupportKind::Spring { .. })),
    ] {
        tell(what, structure.supports.iter().filter(|s| is(&s.kind)).map(|s| s.origin).collect());
    }
    tell("moving loads", structure.travels.iter().map(|travel| travel.origin).collect());
    found
}

/// Claims that wait; they keep no results back.
pub fn check_unsolved_claims(structure: &Structure) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let why = "The claim is read and neither proved nor refuted; all else is.";
    let claims = |is: fn(ClaimWhat) -> bool| {
        let claim_is =
            |claim: &&crate::structure::Claim| matches!(&claim.kind, ClaimKind::Value(value) if is(value.what));
        structure.claims.iter().filter(claim_is).map(|claim| claim.origin).collect()
    };
    let displacement = claims(|what| matches!(what, ClaimWhat::Deflection | ClaimWhat::Rotation));
    tell(&mut found, "claims on deflections and rotations", why, displacement);
    tell(
        &mut found,
        "claims on shear and bending",
        why,
        claims(|what| matches!(what, ClaimWhat::Shear | ClaimWhat::Moment)),
    );
    found
}

/// Claims on forces that only stiffness could give.
pub fn check_unsolved_forces(structure: &Structure, verdict: &Verdict) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    if verdict.kind == VerdictKind::Indeterminate {
        let on_forces = |claim: &&crate::structure::Claim| matches!(&claim.kind, ClaimKind::Value(value) if matches!(value.what, ClaimWhat::Reaction | ClaimWhat::Force));
        let claims = structure.claims.iter().filter(on_forces).map(|claim| claim.origin).collect();
        let why = "Statics alone leaves these forces open; the claims are read and neither proved nor refuted.";
        tell(&mut found, "claims on forces of a redundant structure", why, claims);
    }
    found
}

/// Whether the layout holds parts whose equilibrium is not built yet.
pub fn layout_waits(structure: &Structure) -> bool {
    structure.members.iter().any(|member| member.kind == MemberKind::Beam)
        || !structure.hinges.is_empty()
        || structure.supports.iter().any(|support| {
            matches!(support.kind, SupportKind::Fixed | SupportKind::Guide { .. } | SupportKind::Spring { .. })
        })
}

/// What deforms a redundant structure without loading it.
pub fn first_strain(structure: &Structure) -> Option<Origin> {
    let strains = |load: &&crate::structure::Load| {
        matches!(
            load.kind,
            LoadKind::Heat { .. }
                | LoadKind::Misfit { .. }
                | LoadKind::Settlement { .. }
                | LoadKind::SupportTurn { .. }
        )
    };
    structure.cases.iter().flat_map(|case| &case.loads).find(strains).map(|load| load.origin)
}
