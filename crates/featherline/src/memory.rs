//! How much memory the program has taken.

/// The most memory this process had in use so far, MB, where the system tells (Linux does, in
/// /proc/self/status).
pub(crate) fn peak_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: f64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib * 1024.0 / 1e6)
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn what_was_taken_is_counted() {
        let before = peak_mb().expect("Linux tells");
        let taken = vec![1u8; 64 << 20];
        assert!(taken.iter().map(|b| u64::from(*b)).sum::<u64>() == 64 << 20);
        let after = peak_mb().expect("Linux tells");
        assert!(before > 0.5 && after >= 67.0 && after >= before);
    }
}
