//! The name and the attributes of a tag.

use std::borrow::Cow;

use quick_xml::escape::unescape;
use quick_xml::events::BytesStart;

/// The name without its prefix.
pub(super) fn local<'t>(tag: &'t BytesStart<'_>) -> &'t str {
    split(tag.name().into_inner()).1
}

/// The prefix, empty without one, and the name after it.
pub(super) fn split(name: &str) -> (&str, &str) {
    name.split_once(':').unwrap_or(("", name))
}

/// The attributes with their values, as far as they can be read.
///
/// Doubled ones are not looked for: that takes time by the square of their number.
pub(super) fn attributes<'t>(
    tag: &'t BytesStart<'_>,
) -> impl Iterator<Item = (&'t str, Cow<'t, str>)> {
    let mut attributes = tag.attributes();
    attributes.with_checks(false);
    attributes.map_while(Result::ok).map(|attribute| {
        let key = attribute.key.into_inner();
        // Entities stand in few values; what cannot be resolved stays as written.
        let plain = match &attribute.value {
            value if !value.contains('&') => None,
            value => unescape(value).ok().map(Cow::into_owned),
        };
        (key, plain.map_or(attribute.value, Cow::Owned))
    })
}
