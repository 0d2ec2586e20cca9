//! The end of a file's check for programs.
//!
//! Must not know: how a claim is judged.

use serde_json::{Value, json};

use crate::base::escaped_json;
use crate::check::closing::{ClaimCounts, Closing, FindingCounts};
use crate::present::results::CAUTION;

/// The closing object as one line of JSON, without the newline:
/// `{"file","verdict","redundancy","mechanisms","counts":{"right","near",
/// "follows","wrong","unjudged"},"errors","warnings","remarks","caution"}`.
pub fn render_closing_json(file: &str, closing: &Closing) -> String {
    escaped_json(closed(json!({ "file": file }), closing).to_string())
}

/// The object with what ends a check as its last keys. `near` and `follows`
/// are marks of a sheet: for `check` such claims fail.
pub fn closed(mut object: Value, closing: &Closing) -> Value {
    let ClaimCounts { right, wrong, unjudged } = closing.claims;
    let FindingCounts { errors, warnings, remarks } = closing.findings;
    let end = json!({
        "verdict": closing.verdict,
        "redundancy": closing.redundancy,
        "mechanisms": closing.mechanisms,
        "counts": { "right": right, "near": 0, "follows": 0, "wrong": wrong, "unjudged": unjudged },
        "errors": errors,
        "warnings": warnings,
        "remarks": remarks,
        "caution": CAUTION,
    });
    if let (Value::Object(object), Value::Object(end)) = (&mut object, end) {
        object.extend(end);
        if closing.left_out > 0 {
            object.insert("left_out".to_owned(), json!(closing.left_out));
        }
    }
    object
}
