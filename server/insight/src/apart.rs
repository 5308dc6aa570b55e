//! What separates two muscles, in a sentence.

use myonym_content::Difference;

/// `teres minor rotates the arm laterally, but teres major rotates the arm medially`: no capital
/// letter and no full stop, to stand in a longer sentence.
pub(crate) fn sentence(first: &str, second: &str, difference: &Difference) -> String {
    let Difference { aspect, first: has, second: other_has } = difference;
    format!("{}, but {}", side(first, aspect, has), side(second, aspect, other_has))
}

fn side(name: &str, aspect: &str, has: &str) -> String {
    let verb = match aspect {
        "action" => "",
        "insertion" => "inserts on ",
        "origin" => "arises from ",
        "nerve" => "is supplied by the ",
        "group" => "belongs to the ",
        "region" => "is a muscle of the ",
        other => {
            return format!("{name} has as {other}: {}", if has.is_empty() { "-" } else { has });
        }
    };
    if has.is_empty() {
        return format!("no {aspect} of {name} is taught");
    }
    match has.strip_prefix("its ") {
        Some(parts) if verb.is_empty() => {
            let parts = parts.replace("; its ", "; the ");
            format!("in {name} the {parts}")
        }
        _ => format!("{name} {verb}{has}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences() {
        let check = |aspect: &str, first: &str, second: &str, want: &str| {
            let aspect = aspect.to_owned();
            let difference = Difference { aspect, first: first.into(), second: second.into() };
            assert_eq!(sentence("teres minor", "deltoid", &difference), want);
        };
        check(
            "action",
            "rotates the arm laterally",
            "abducts the arm and its clavicular part flexes the arm",
            "teres minor rotates the arm laterally, but deltoid abducts the arm and its clavicular \
             part flexes the arm",
        );
        check(
            "action",
            "",
            "its clavicular part flexes the arm",
            "no action of teres minor is taught, but in deltoid the clavicular part flexes the arm",
        );
        check(
            "action",
            "its upper part elevates the scapula; its lower part depresses the scapula",
            "abducts the arm",
            "in teres minor the upper part elevates the scapula; the lower part depresses the \
             scapula, but deltoid abducts the arm",
        );
        check(
            "insertion",
            "the greater tubercle of the humerus",
            "the deltoid tuberosity of the humerus",
            "teres minor inserts on the greater tubercle of the humerus, but deltoid inserts on \
             the deltoid tuberosity of the humerus",
        );
        check(
            "group",
            "rotator cuff",
            "",
            "teres minor belongs to the rotator cuff, but no group of deltoid is taught",
        );
        check("shape", "flat", "", "teres minor has as shape: flat, but deltoid has as shape: -");
    }
}
