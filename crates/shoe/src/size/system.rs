//! The size systems as one table: what each counts, from where, in which steps, and who says so.

use crate::reasons::Mark;

/// A Paris point, the step of the EU system, mm: two thirds of a centimetre.
const PARIS_POINT: f64 = 20.0 / 3.0;
/// A barleycorn, the step of the UK and US systems, mm: a third of an inch.
const BARLEYCORN: f64 = 25.4 / 3.0;

/// A way of counting sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum System {
    /// Paris points from zero.
    Eu,
    /// Barleycorns, the adult run.
    Uk,
    /// Barleycorns, the children's run that ends where the adult one starts.
    UkChild,
    /// Barleycorns, a size more than UK.
    UsMen,
    /// Barleycorns, 1.5 more than US men: as shops count.
    UsWomen,
    /// Barleycorns, 1 more than US men: as read off a foot gauge.
    UsWomenGauge,
    /// Barleycorns, the children's run.
    UsChild,
    /// The foot's length in mm.
    Mondopoint,
    /// The foot's length in cm.
    Japan,
    /// The foot's length in mm.
    China,
    /// Steps of 5 mm of the foot's length; the numbers resemble EU sizes and are none.
    ChinaOld,
}

/// What a system's number counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// The length of the last.
    Last,
    /// The length of the foot.
    Foot,
}

/// One line of the table.
struct Row {
    system: System,
    /// As it is written before a number.
    short: &'static str,
    /// Other ways to write it, all of them small and without spaces.
    spellings: &'static [&'static str],
    /// As it is told.
    name: &'static str,
    counts: Counts,
    /// The length counted is `unit` times (number + `offset`), mm.
    unit: f64,
    offset: f64,
    /// Least and greatest number: those whose lasts, standard length and some more at the toe,
    /// lie within what is stood as a last.
    range: [f64; 2],
    /// Numbers are multiples of one of these.
    steps: &'static [f64],
    /// What the last is longer than the foot, mm.
    allowance: f64,
    /// How well the allowance is known.
    allowance_mark: Mark,
    formula: &'static str,
    source: &'static str,
}

const HALF: &[f64] = &[0.5];
const WHOLE: &[f64] = &[1.0];

const ARTICLE: &str = "an encyclopaedia's article on shoe sizes";

/// The table; every fact about a system stands here.
///
/// Allowances: two steps of the system by the article named. Where the foot is counted no
/// source names one, and two Paris points are taken (common practice, no source).
const TABLE: [Row; 11] = [
    Row {
        system: System::Eu,
        short: "EU",
        spellings: &["eu"],
        name: "EU (Paris points)",
        counts: Counts::Last,
        unit: PARIS_POINT,
        offset: 0.0,
        range: [15.0, 50.0],
        steps: HALF,
        allowance: 2.0 * PARIS_POINT,
        allowance_mark: Mark::Published,
        formula: "last = size x 20/3 mm",
        source: ARTICLE,
    },
    Row {
        system: System::Uk,
        short: "UK",
        spellings: &["uk", "ukadult"],
        name: "UK adult",
        counts: Counts::Last,
        unit: BARLEYCORN,
        offset: 25.0,
        range: [1.0, 14.0],
        steps: HALF,
        allowance: 2.0 * BARLEYCORN,
        allowance_mark: Mark::Published,
        formula: "last = (size + 25)/3 in",
        source: ARTICLE,
    },
    Row {
        system: System::UkChild,
        short: "UK child",
        spellings: &["ukchild"],
        name: "UK child",
        counts: Counts::Last,
        unit: BARLEYCORN,
        offset: 12.0,
        range: [0.0, 13.5],
        steps: HALF,
        allowance: 2.0 * BARLEYCORN,
        allowance_mark: Mark::Published,
        formula: "last = (size + 12)/3 in",
        source: ARTICLE,
    },
    Row {
        system: System::UsMen,
        short: "US men",
        spellings: &["usmen", "usman", "usmens"],
        name: "US men",
        counts: Counts::Last,
        unit: BARLEYCORN,
        offset: 24.0,
        range: [1.0, 15.0],
        steps: HALF,
        allowance: 2.0 * BARLEYCORN,
        allowance_mark: Mark::Published,
        formula: "last = (size + 24)/3 in",
        source: ARTICLE,
    },
    Row {
        system: System::UsWomen,
        short: "US women",
        spellings: &["uswomen", "uswoman", "uswomens"],
        name: "US women (US men + 1.5, as shops count)",
        counts: Counts::Last,
        unit: BARLEYCORN,
        offset: 22.5,
        range: [1.0, 16.0],
        steps: HALF,
        allowance: 2.0 * BARLEYCORN,
        allowance_mark: Mark::Published,
        formula: "last = (size + 22.5)/3 in",
        source: ARTICLE,
    },
    Row {
        system: System::UsWomenGauge,
        short: "US women gauge",
        spellings: &["uswomengauge"],
        name: "US women by foot gauge (US men + 1)",
        counts: Counts::Last,
        unit: BARLEYCORN,
        offset: 23.0,
        range: [1.0, 16.0],
        steps: HALF,
        allowance: 2.0 * BARLEYCORN,
        allowance_mark: Mark::Published,
        formula: "last = (size + 23)/3 in",
        source: ARTICLE,
    },
    Row {
        system: System::UsChild,
        short: "US child",
        spellings: &["uschild"],
        name: "US child",
        counts: Counts::Last,
        unit: BARLEYCORN,
        offset: 35.0 / 3.0,
        range: [0.0, 13.5],
        steps: HALF,
        allowance: 2.0 * BARLEYCORN,
        allowance_mark: Mark::Published,
        formula: "last = (size + 11 2/3)/3 in",
        source: ARTICLE,
    },
    Row {
        system: System::Mondopoint,
        short: "Mondopoint",
        spellings: &["mondopoint", "mondo"],
        name: "Mondopoint",
        counts: Counts::Foot,
        unit: 1.0,
        offset: 0.0,
        range: [90.0, 320.0],
        steps: &[5.0, 7.5],
        allowance: 2.0 * PARIS_POINT,
        allowance_mark: Mark::CommonPractice,
        formula: "foot = size in mm, in steps of 5 or 7.5",
        source: "ISO/TS 19407:2015, introduction; DIN 66074-2",
    },
    Row {
        system: System::Japan,
        short: "JP",
        spellings: &["jp", "japan"],
        name: "Japan",
        counts: Counts::Foot,
        unit: 10.0,
        offset: 0.0,
        range: [9.0, 32.0],
        steps: HALF,
        allowance: 2.0 * PARIS_POINT,
        allowance_mark: Mark::CommonPractice,
        formula: "foot = size in cm",
        source: "JIS S 5037, by its table",
    },
    Row {
        system: System::China,
        short: "CN",
        spellings: &["cn", "china"],
        name: "China",
        counts: Counts::Foot,
        unit: 1.0,
        offset: 0.0,
        range: [90.0, 320.0],
        steps: &[5.0],
        allowance: 2.0 * PARIS_POINT,
        allowance_mark: Mark::CommonPractice,
        formula: "foot = size in mm",
        source: "GB/T 3293.1-1998, as quoted by a Chinese page on shoe numbers",
    },
    Row {
        system: System::ChinaOld,
        short: "CN old",
        spellings: &["cnold", "chinaold"],
        name: "China, old number",
        counts: Counts::Foot,
        unit: 5.0,
        offset: 10.0,
        range: [8.0, 54.0],
        steps: WHOLE,
        allowance: 2.0 * PARIS_POINT,
        allowance_mark: Mark::CommonPractice,
        formula: "foot = (size + 10) x 5 mm",
        source: "GB/T 3293.1-1998, as quoted by a Chinese page on shoe numbers",
    },
];

impl System {
    /// Every system, in the order of the table.
    pub fn all() -> impl Iterator<Item = System> {
        TABLE.iter().map(|row| row.system)
    }

    fn row(self) -> &'static Row {
        // The table holds every system, in the order of the enum: a test sees to it.
        &TABLE[self as usize]
    }

    /// As it is written before a number: "EU", "US men".
    pub fn short(self) -> &'static str {
        self.row().short
    }

    /// As it is told: "EU (Paris points)".
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// What its numbers count.
    pub fn counts(self) -> Counts {
        self.row().counts
    }

    /// The formula in words.
    pub fn formula(self) -> &'static str {
        self.row().formula
    }

    /// Where the formula was found.
    pub fn source(self) -> &'static str {
        self.row().source
    }

    /// What a last is longer than its foot, mm.
    pub fn allowance(self) -> f64 {
        self.row().allowance
    }

    /// How well founded the allowance is.
    pub fn allowance_mark(self) -> Mark {
        self.row().allowance_mark
    }

    /// The least and the greatest number.
    pub fn range(self) -> [f64; 2] {
        self.row().range
    }

    /// The usual step from size to size: a whole size, or the finest there is.
    pub fn whole_step(self) -> f64 {
        match self {
            System::Japan => 0.5,
            _ => self.row().steps[0].max(1.0),
        }
    }

    /// Whether it has sizes between its whole ones.
    pub fn has_halves(self) -> bool {
        self.row().steps == HALF && self.whole_step() > HALF[0]
    }

    /// The usual step from size to size at `number`: some systems count in two steps.
    pub(super) fn step_at(self, number: f64) -> f64 {
        let on = |step: &&f64| (number / **step).fract().abs() < 1e-9;
        let whole = self.whole_step();
        self.row().steps.iter().find(on).map_or(whole, |step| step.max(whole))
    }

    /// Whether it is a run for children alone.
    pub fn is_for_children(self) -> bool {
        matches!(self, System::UkChild | System::UsChild)
    }

    /// Length of the last for a number, whole or not, mm.
    pub(super) fn last_length(self, number: f64) -> f64 {
        let row = self.row();
        let counted = row.unit * (number + row.offset);
        match row.counts {
            Counts::Last => counted,
            Counts::Foot => counted + row.allowance,
        }
    }

    /// The number, whole or not, of the foot of `length` mm.
    pub fn number_for_foot(self, length: f64) -> f64 {
        self.number_for_last(length + self.allowance())
    }

    /// The number, whole or not, of the last of standard length `length` mm.
    pub fn number_for_last(self, length: f64) -> f64 {
        let row = self.row();
        let counted = match row.counts {
            Counts::Last => length,
            Counts::Foot => length - row.allowance,
        };
        counted / row.unit - row.offset
    }

    /// Whether it has this number.
    pub(super) fn has(self, number: f64) -> bool {
        let [least, most] = self.range();
        let on = |step: &f64| (number / step).fract().abs() < 1e-9;
        (least..=most).contains(&number) && self.row().steps.iter().any(on)
    }

    /// The number on the first of its steps nearest to `number`.
    pub(super) fn rounded(self, number: f64) -> f64 {
        let step = self.row().steps[0];
        (number / step).round() * step
    }

    /// Which numbers there are, in words: "EU 15..50 in half sizes".
    pub(super) fn extent(self) -> String {
        let [least, most] = self.range();
        let run = format!("{} {least}..{most}", self.short());
        match self.row().steps {
            HALF if self != System::Japan => format!("{run} in half sizes"),
            steps => {
                let steps: Vec<String> = steps.iter().map(f64::to_string).collect();
                format!("{run} in steps of {}", steps.join(", "))
            }
        }
    }

    /// The system written before a number, small and without spaces.
    pub(super) fn spelled(word: &str) -> Option<System> {
        TABLE.iter().find(|row| row.spellings.contains(&word)).map(|row| row.system)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_system_stands_where_it_is_looked_up() {
        for (place, row) in TABLE.iter().enumerate() {
            assert_eq!(row.system as usize, place, "{}", row.name);
            let written: String = row.short.to_lowercase().split_whitespace().collect();
            assert!(row.spellings.contains(&written.as_str()), "{}", row.name);
        }
    }
}
