//! Lasts from tape measures.

use shoe::foot::Foot;
use shoe::last::measure::measure;
use shoe::last::taped::{BLANK, TapeError, TapeMeasures, Toe, read_sheet, taped_last};

/// An invented last, every measure of it entered.
fn sheet() -> TapeMeasures {
    TapeMeasures {
        toe: Toe::Almond,
        toe_extension: Some(8.0),
        length: Some(268.0),
        ball_girth: Some(228.0),
        waist_girth: Some(220.0),
        instep_girth: Some(220.0),
        long_heel_girth: Some(342.0),
        short_heel_girth: Some(292.0),
        seat_width: Some(59.0),
        tread_width: Some(80.5),
        heel_height: Some(35.0),
        toe_spring: Some(14.0),
        back_curve: vec![(20.0, -6.0), (40.0, -5.5), (60.0, -1.0)],
        ..TapeMeasures::of_size(260.0, Foot::Right)
    }
}

#[test]
fn every_entry_is_met() {
    let sheet = sheet();
    let taped = taped_last(&sheet).expect("a last");
    assert!(taped.met.iter().all(|met| met.entered.is_some()), "{:?}", taped.met);
    for met in &taped.met {
        let off = met.has - met.entered.unwrap_or(f64::NAN);
        assert!(off.abs() < 0.1, "{met:?}");
    }
    // By the measuring code, which knows nothing of the sheet.
    let m = measure(&taped.last, &taped.last.mesh, None).value;
    for (has, entered) in [
        (m.length, sheet.length),
        (m.girths.ball.length, sheet.ball_girth),
        (m.girths.waist.length, sheet.waist_girth),
        (m.girths.instep.length, sheet.instep_girth),
        (m.girths.long_heel.length, sheet.long_heel_girth),
        (m.girths.short_heel.length, sheet.short_heel_girth),
        (m.seat_width, sheet.seat_width),
        (m.tread_width, sheet.tread_width),
        (m.heel_height, sheet.heel_height),
        (m.toe_spring, sheet.toe_spring),
    ] {
        assert!((has - entered.unwrap_or(f64::NAN)).abs() < 0.1, "{has} {entered:?}");
    }
    for (height, forward) in &sheet.back_curve {
        let point = m.back_curve.iter().find(|point| (point.height - height).abs() < 1e-9);
        let has = point.expect("every 10 mm").set_back;
        assert!((has - forward).abs() < 0.1, "{height} up: {has} {forward}");
    }
}

#[test]
fn a_left_last_is_the_mirror_image_of_the_right_one() {
    let right = taped_last(&TapeMeasures::of_size(240.0, Foot::Right)).expect("a last");
    let left = taped_last(&TapeMeasures::of_size(240.0, Foot::Left)).expect("a last");
    assert_eq!(left.last.foot, Foot::Left);
    assert_eq!(left.last.mirrored().mesh, right.last.mesh);
    for (left, right) in left.met.iter().zip(&right.met) {
        assert_eq!(left.name, right.name);
        assert!((left.has - right.has).abs() < 1e-9, "{left:?} {right:?}");
    }
}

/// The size alone is enough; the rest follows, and is told apart from what was entered.
#[test]
fn what_is_not_entered_follows() {
    let sheet = TapeMeasures {
        ball_girth: Some(214.0),
        heel_height: Some(40.0),
        ..TapeMeasures::of_size(246.7, Foot::Right)
    };
    let taped = taped_last(&sheet).expect("a last");
    let entered: Vec<&str> =
        taped.met.iter().filter(|met| met.entered.is_some()).map(|met| met.name.as_str()).collect();
    assert_eq!(entered, ["ball girth", "heel height"]);
    let has = |name: &str| taped.met.iter().find(|met| met.name == name).expect("told").has;
    assert!((has("length") - 246.7).abs() < 0.1, "a round toe has no extension");
    // Widths go with the ball: in Golding's scale of 1902 its adult sizes have 7.25 to 8.25 in of
    // ball to 2.75 to 3.08 in of tread, 2.68 times.
    assert!((has("ball girth") / has("tread width") - 2.72).abs() < 0.15);
}

#[test]
fn toes_differ_in_front_of_the_joints_and_not_behind() {
    let of = |toe| {
        let sheet = TapeMeasures {
            toe,
            toe_extension: Some(6.0),
            ..TapeMeasures::of_size(260.0, Foot::Right)
        };
        taped_last(&sheet).expect("a last").last
    };
    let width = |last: &shoe::last::stand::Last, x: f64| {
        let near = last.mesh.positions.iter().filter(|p| (p.x - x).abs() < 2.0);
        let y: Vec<f64> = near.map(|p| p.y).collect();
        y.iter().fold(f64::MIN, |a, b| a.max(*b)) - y.iter().fold(f64::MAX, |a, b| a.min(*b))
    };
    let tip = |last: &shoe::last::stand::Last| {
        last.mesh.positions.iter().map(|p| p.x).fold(0.0, f64::max)
    };
    let toes = [Toe::Pointed, Toe::Almond, Toe::Round, Toe::Square].map(of);
    let widths = toes.each_ref().map(|last| width(last, tip(last) - 8.0));
    assert!(widths.is_sorted() && widths[3] > widths[0] + 10.0, "{widths:?}");
    for x in [30.0, 65.0, 130.0] {
        let widths = toes.each_ref().map(|last| width(last, x));
        assert!(widths.iter().all(|width| (width - widths[0]).abs() < 1.5), "{x}: {widths:?}");
    }
}

/// What contradicts itself is named, both sides of it.
#[test]
fn contradictions_are_named() {
    let refused = |change: &dyn Fn(&mut TapeMeasures), words: &[&str]| {
        let mut sheet = sheet();
        change(&mut sheet);
        let error = taped_last(&sheet).expect_err("contradicts itself").to_string();
        assert!(words.iter().all(|word| error.contains(word)), "{words:?}: {error}");
    };
    refused(&|m| m.length = Some(255.0), &["length of 255.0", "260.0"]);
    refused(&|m| m.toe_extension = Some(2.0), &["length of 268.0", "260.0"]);
    refused(&|m| m.ball_girth = Some(180.0), &["ball girth of 180", "tread width of 80.5"]);
    refused(&|m| m.waist_girth = Some(260.0), &["waist girth of 260", "ball girth of 228"]);
    refused(&|m| m.instep_girth = Some(160.0), &["instep girth of 160", "ball girth of 228"]);
    refused(&|m| m.long_heel_girth = Some(230.0), &["long heel girth of 230", "ball girth"]);
    refused(&|m| m.short_heel_girth = Some(360.0), &["short heel girth of 360", "long heel girth"]);
    refused(&|m| m.seat_width = Some(40.0), &["seat width of 40", "tread width of 80.5"]);
    refused(&|m| m.heel_height = Some(120.0), &["heel height is 120"]);
    refused(&|m| m.heel_height = Some(f64::NAN), &["heel height is NaN"]);
    refused(&|m| m.waist_girth = Some(f64::NAN), &["waist girth of NaN"]);
    refused(&|m| m.back_curve[1] = (15.0, 0.0), &["back curve", "15 mm", "must rise"]);
    refused(&|m| m.back_curve[2].1 = 30.0, &["back curve", "-5.5 mm to 30 mm"]);
    refused(&|m| m.back_curve[2].0 = 300.0, &["back curve", "300 mm", "where the wall"]);
}

/// Each within its bounds, but not together: the one that cannot be reached is named, with the
/// nearest that can.
#[test]
fn what_cannot_be_met_together_is_named() {
    let sheet = TapeMeasures { waist_girth: Some(190.0), instep_girth: Some(219.0), ..sheet() };
    let error = taped_last(&sheet).expect_err("no last");
    assert!(matches!(error, TapeError::NotMet { .. }), "{error}");
    assert!(error.to_string().contains("measure both again"), "{error}");
}

#[test]
fn the_blank_sheet_is_a_sheet() {
    let (blank, size) = read_sheet(BLANK).expect("a sheet");
    assert_eq!(size.map(|size| size.to_string()).as_deref(), Some("EU 39"));
    assert_eq!(blank.ball_girth, None);
    // With the remarks taken away from its values it is a whole one.
    let is_value = |line: &str| line.contains(" = ") && !line.contains("standard_last_length");
    let whole: String = BLANK
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(value) if is_value(value) => format!("{value}\n"),
            _ => format!("{line}\n"),
        })
        .collect();
    let (whole, _) = read_sheet(&whole).expect("a sheet");
    assert!(whole.length.is_some() && whole.edge_radius.is_some() && whole.back_curve.len() == 3);
    taped_last(&whole).expect("its values are those of a last");
}

#[test]
fn a_wrong_line_is_named_with_its_mend() {
    let refused = |text: &str, line: usize, words: &[&str]| {
        let error = read_sheet(text).expect_err("wrong");
        assert_eq!(error.line, line, "{error}");
        assert!(words.iter().all(|word| error.what.contains(word)), "{words:?}: {error}");
    };
    let start = "foot = \"left\"\nsize = \"EU 39\"\n";
    refused(&format!("{start}bal_girth = 225"), 3, &["bal_girth", "did you mean \"ball_girth\""]);
    refused(&format!("{start}wobble = 225"), 3, &["wobble", "ball_girth, "]);
    refused(&format!("{start}ball_girth = \"225\""), 3, &["ball_girth is no number", "225.0"]);
    refused(&format!("{start}ball_girth = 22,5"), 3, &["ball_girth = 225.0"]);
    refused(&format!("{start}ball_girth = nan"), 3, &["ball_girth is no number"]);
    refused(
        &format!("{start}toe = \"oval\""),
        3,
        &["\"round\", \"almond\", \"square\", \"pointed\""],
    );
    refused(&format!("{start}back_curve = [20, -6]"), 3, &["list of pairs"]);
    refused(&format!("{start}standard_last_length = 250"), 3, &["250 mm", "260.0 mm"]);
    refused("size = \"EU 39\"", 1, &["no foot"]);
    refused("foot = \"west\"\nsize = \"EU 39\"", 1, &["\"left\", \"right\""]);
    refused("foot = \"left\"", 1, &["neither size nor length"]);
    refused("foot = \"left\"\nsize = \"US 8\"", 2, &["US men 8"]);
    refused("foot = \"left\"\nsize = 39", 2, &["EU 39"]);
}
