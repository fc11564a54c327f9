//! Brings the settings of an older version up to the present one.

use toml_edit::DocumentMut;

/// One step: from one schema to the next.
type Step = fn(&mut DocumentMut);

/// The steps in order: the first leads from schema 1 to 2. A change of the layout adds one
/// here, and a fixture of the old layout to the tests.
pub(super) const STEPS: &[Step] = &[];

/// Takes every step from schema `found` on and states the new schema in the document.
/// Comments and order stay. `found` counts from 1.
pub(super) fn upgrade(document: &mut DocumentMut, found: i64, steps: &[Step]) {
    let taken = usize::try_from(found - 1).unwrap_or(0).min(steps.len());
    for step in &steps[taken..] {
        step(document);
    }
    let reached = found + (steps.len() - taken) as i64;
    if reached != found {
        document["schema"] = toml_edit::value(reached);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_missing_step_is_taken_in_order_and_comments_stay() {
        let rename: Step = |d| {
            let old = d.remove("title").expect("the old layout has a title");
            d.insert("name", old);
        };
        let extend: Step = |d| {
            let name = format!("{}!", d["name"].as_str().expect("renamed by the step before"));
            d["name"] = toml_edit::value(name);
        };
        let mut document: DocumentMut =
            "schema = 1 # layout\ntitle = \"a\"\n# end\n[x]\ny = 2\n".parse().expect("valid");
        upgrade(&mut document, 1, &[rename, extend]);
        assert_eq!(document["schema"].as_integer(), Some(3));
        assert_eq!(document["name"].as_str(), Some("a!"));
        assert!(document.to_string().contains("# end\n[x]\ny = 2"));

        let mut newer: DocumentMut = "schema = 2\nname = \"a\"\n".parse().expect("valid");
        upgrade(&mut newer, 2, &[rename, extend]);
        assert_eq!(newer.to_string(), "schema = 3\nname = \"a!\"\n");
    }

    #[test]
    fn the_steps_reach_the_present_schema() {
        assert_eq!(STEPS.len() as i64 + 1, super::super::SCHEMA);
    }
}
