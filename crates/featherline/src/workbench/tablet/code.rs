//! The code that a device enters to be let in: good for a few minutes, a few tries and one device.

use std::time::{Duration, Instant};

use serde::Serialize;

use super::super::guard::same;

/// How long a code is good.
const GOOD_FOR: Duration = Duration::from_secs(10 * 60);

/// How many wrong codes are taken: of a million codes that is nothing to guess with. They are counted
/// for all devices together, for one device can go by many addresses.
pub(super) const TRIES: u32 = 5;

/// How many digits a code has.
const DIGITS: usize = 6;

/// A code, and what has become of it.
#[derive(Debug)]
pub(super) struct Code {
    digits: String,
    until: Instant,
    wrong: u32,
    entered: bool,
}

/// Why a code lets nobody in any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Spent {
    /// A device entered it.
    Entered,
    /// Too many wrong codes were entered.
    Wrong,
    /// Its time is over.
    Old,
}

/// Why what was entered did not let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NotIn {
    /// It is no code at all: a slip of the finger, not a try.
    NoCode,
    /// It is not the code.
    Wrong,
    /// There is no code any more.
    Spent,
}

impl Code {
    /// Six digits that nobody can foresee.
    pub(super) fn new() -> Result<Self, getrandom::Error> {
        let random = u64::from(getrandom::u32()?);
        // A slight preference for some numbers is of no help to anyone with five tries.
        let digits = format!("{:0DIGITS$}", (random * 1_000_000) >> 32);
        Ok(Self { digits, until: Instant::now() + GOOD_FOR, wrong: 0, entered: false })
    }

    /// The digits, as long as they let in.
    pub(super) fn digits(&self) -> Option<&str> {
        self.spent().is_none().then_some(&*self.digits)
    }

    pub(super) fn spent(&self) -> Option<Spent> {
        if self.entered {
            Some(Spent::Entered)
        } else if self.wrong >= TRIES {
            Some(Spent::Wrong)
        } else if Instant::now() >= self.until {
            Some(Spent::Old)
        } else {
            None
        }
    }

    /// For how long it is still good, if nothing spends it before.
    pub(super) fn left(&self) -> Duration {
        if self.spent().is_some() {
            return Duration::ZERO;
        }
        self.until.saturating_duration_since(Instant::now())
    }

    /// Takes what was entered in a form, `code=123+456`. The right code is spent by it.
    pub(super) fn enter(&mut self, form: &str) -> Result<(), NotIn> {
        if self.spent().is_some() {
            return Err(NotIn::Spent);
        }
        let digits = digits_of(form.strip_prefix("code=").unwrap_or_default());
        if digits.len() != DIGITS {
            return Err(NotIn::NoCode);
        }
        if !same(digits.as_bytes(), self.digits.as_bytes()) {
            self.wrong += 1;
            return Err(if self.wrong < TRIES { NotIn::Wrong } else { NotIn::Spent });
        }
        self.entered = true;
        Ok(())
    }

    /// As if its time were over.
    #[cfg(test)]
    pub(super) fn grow_old(&mut self) {
        self.until = Instant::now();
    }
}

/// The digits of a field of a form. What a browser writes as `%C2%A0` (a space that came with copying)
/// has none.
fn digits_of(field: &str) -> String {
    let mut rest = field.chars();
    let mut digits = String::new();
    while let Some(sign) = rest.next() {
        if sign == '%' {
            let _ = (rest.next(), rest.next());
        } else if sign.is_ascii_digit() {
            digits.push(sign);
        }
    }
    digits
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrong(code: &Code) -> &'static str {
        if code.digits == "000000" { "code=000001" } else { "code=000000" }
    }

    #[test]
    fn five_wrong_codes_spend_it_and_slips_do_not() {
        let mut code = Code::new().expect("random numbers");
        for slip in ["", "code=", "code=12345", "code=1234567", "code=one", "key=123456"] {
            for _ in 0..=TRIES {
                assert_eq!(code.enter(slip), Err(NotIn::NoCode), "{slip}");
            }
        }
        for _ in 1..TRIES {
            assert_eq!(code.enter(wrong(&code)), Err(NotIn::Wrong));
        }
        assert!(code.digits().is_some() && code.left() > Duration::from_secs(9 * 60));
        assert_eq!(code.enter(wrong(&code)), Err(NotIn::Spent));
        assert_eq!((code.spent(), code.left()), (Some(Spent::Wrong), Duration::ZERO));
        let right = format!("code={}", code.digits);
        assert_eq!(code.enter(&right), Err(NotIn::Spent), "the right one comes too late");
    }

    #[test]
    fn it_lets_one_device_in_however_it_is_spaced() {
        for gap in ["", "+", "-", "%C2%A0", "%20", "."] {
            let mut code = Code::new().expect("random numbers");
            let right = format!("code={}{gap}{}", &code.digits[..3], &code.digits[3..]);
            assert_eq!(code.enter(&right), Ok(()), "{right}");
            assert_eq!((code.spent(), code.digits()), (Some(Spent::Entered), None));
            assert_eq!(code.enter(&right), Err(NotIn::Spent), "it lets one in");
        }
    }

    #[test]
    fn an_old_one_lets_nobody_in() {
        let mut code = Code::new().expect("random numbers");
        let right = format!("code={}", code.digits);
        code.grow_old();
        assert_eq!((code.spent(), code.digits()), (Some(Spent::Old), None));
        assert_eq!(code.enter(&right), Err(NotIn::Spent));
    }

    #[test]
    fn codes_differ_and_have_six_digits() {
        let codes: std::collections::BTreeSet<String> =
            (0..50).map(|_| Code::new().expect("random numbers").digits).collect();
        assert!(codes.len() > 45, "{codes:?}");
        assert!(codes.iter().all(|c| c.len() == 6 && c.bytes().all(|b| b.is_ascii_digit())));
    }
}
