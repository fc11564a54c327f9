//! Numbers as text: as many decimals as asked for, no trailing zeros, never an exponent.

/// Writes `value` with at most `decimals` decimals; `-0` becomes `0`.
pub(crate) fn plain(value: f64, decimals: usize) -> String {
    let long = format!("{value:.decimals$}");
    let short =
        if long.contains('.') { long.trim_end_matches('0').trim_end_matches('.') } else { &long };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::plain;

    #[test]
    fn numbers_are_short_and_exact() {
        assert_eq!(plain(100.0, 6), "100");
        assert_eq!(plain(-0.000_000_1, 6), "0");
        assert_eq!(plain(1.25, 6), "1.25");
        assert_eq!(plain(1e7, 0), "10000000");
    }
}
