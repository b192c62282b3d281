//! Sentences, sound and unsound. Checksums of the examples without a source are by the rule of the
//! standard, reckoned in `sealed`.

use proptest::prelude::*;

use super::*;

fn noon() -> Timestamp {
    "2026-06-01T10:00:00Z".parse().unwrap()
}

/// A body as a whole sentence.
fn sealed(body: &str) -> String {
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    let open = if body.contains("VDM") { '!' } else { '$' };
    format!("{open}{body}*{sum:02X}")
}

fn said(body: &str) -> Result<Said, Refused> {
    read(sealed(body).as_bytes(), noon())
}

#[track_caller]
fn place(said: Result<Said, Refused>) -> [f64; 2] {
    match said {
        Ok(Said::Fixed(fixed)) => fixed.position.into(),
        other => panic!("no fix: {other:?}"),
    }
}

const RMC: &str = "GNRMC,095958.00,A,4500.6000,N,03000.3000,W,0.4,118.0,010626,,,A";
const GGA: &str = "GPGGA,095958.00,4500.6000,N,03000.3000,W,1,08,1.0,1.0,M,0.0,M,,";
const GLL: &str = "GPGLL,4500.6000,N,03000.3000,W,095958.00,A,A";

#[test]
fn the_three_sentences_say_the_same_place() {
    for body in [RMC, GGA, GLL] {
        let [lon, lat] = place(said(body));
        // By hand: 0.6 and 0.3 minutes are a hundredth and a two-hundredth of a degree.
        assert!(
            (lat - 45.01).abs() < 1e-9 && (lon + 30.005).abs() < 1e-9,
            "{body}"
        );
    }
    let early = "GPGLL,4500.6000,N,03000.3000,W,095958,A";
    place(said(early));
    let south = GGA.replace(",N,", ",S,").replace(",W,", ",E,");
    let [lon, lat] = place(said(&south));
    assert!(lat < 0.0 && lon > 0.0);
}

#[test]
fn any_talker_may_speak() {
    for talker in ["GP", "GN", "GL", "GA", "BD", "GB", "II", "IN"] {
        let body = format!("{talker}{}", &GGA[2..]);
        let Ok(Said::Fixed(fixed)) = said(&body) else {
            panic!("{talker}")
        };
        assert_eq!(fixed.talker.to_string(), talker);
    }
}

#[test]
fn what_has_no_fix_is_not_used() {
    for (body, why) in [
        (RMC.replace(",A,4500", ",V,4500"), Refused::NoFix),
        (RMC.replace(",,,A", ",,,N"), Refused::NoFix),
        (RMC.replace(",,,A", ",,,E"), Refused::NotMeasured),
        (RMC.replace(",,,A", ",,,S"), Refused::NotMeasured),
        (GGA.replace(",1,08", ",0,00"), Refused::NoFix),
        (GGA.replace(",1,08", ",6,08"), Refused::NotMeasured),
        (GGA.replace(",1,08", ",8,08"), Refused::NotMeasured),
        (GLL.replace(",A,A", ",V,N"), Refused::NoFix),
        (
            "GPGGA,095958.00,,,,,0,00,,,M,,M,,".to_owned(),
            Refused::NoFix,
        ),
        ("GPRMC,,V,,,,,,,,,,N".to_owned(), Refused::NoFix),
    ] {
        assert_eq!(said(&body), Err(why), "{body}");
    }
}

#[test]
fn a_date_far_from_the_clock_is_not_used_and_said() {
    for (date, off) in [
        ("010626", false),
        ("020626", false),
        // A day and two seconds, by the time of day.
        ("310526", true),
        ("030626", true),
        ("300526", true),
        ("010625", true),
        // 1,024 weeks back: the week counter of an old receiver has run over.
        ("161006", true),
        ("010680", true),
        ("010699", true),
    ] {
        let body = RMC.replace("010626", date);
        match said(&body) {
            Ok(Said::Fixed(_)) => assert!(!off, "{date}"),
            Err(Refused::DateOff { .. }) => assert!(off, "{date}"),
            other => panic!("{date}: {other:?}"),
        }
    }
    let a_day_less = RMC
        .replace("095958.00", "100001.00")
        .replace("010626", "310526");
    place(said(&a_day_less));
    assert_eq!(said(&RMC.replace("010626", "")), Err(Refused::Unsound));
    assert_eq!(
        said(&RMC.replace("010626", "310226")),
        Err(Refused::Unsound)
    );
}

#[test]
fn what_is_no_figure_is_unsound() {
    for (from, to) in [
        ("4500.6000", "nan"),
        ("4500.6000", "45nan"),
        ("4500.6000", "45inf"),
        ("4500.6000", "-500.6000"),
        ("4500.6000", "45-0.6000"),
        ("4500.6000", "4560.0000"),
        ("4500.6000", "450.6000"),
        ("4500.6000", ""),
        ("4500.6000", "45 00.600"),
        ("4500.6000", "4500.6.0"),
        ("4500.6000", "45e2"),
        ("4500.6000", "9100.0000"),
        ("03000.3000", "18100.000"),
        ("03000.3000", "99900.000"),
        (",N,", ",X,"),
        (",W,", ",,"),
    ] {
        for body in [RMC, GGA, GLL] {
            let body = body.replace(from, to);
            let refused = said(&body).unwrap_err();
            let expected = matches!(refused, Refused::Unsound | Refused::OutOfRange);
            assert!(expected, "{body}: {refused:?}");
        }
    }
    assert_eq!(
        said(&GGA.replace("4500.6000", "8530.0000")),
        Err(Refused::OutOfRange)
    );
}

#[test]
fn half_sentences_are_refused_and_the_next_is_read() {
    let whole = sealed(RMC);
    for cut in 1..whole.len() {
        let (before, after) = whole.split_at(cut);
        let refused = read(before.as_bytes(), noon()).unwrap_err();
        assert!(
            matches!(refused, Refused::CutShort),
            "{before}: {refused:?}"
        );
        assert_eq!(
            read(after.as_bytes(), noon()),
            Err(Refused::CutShort),
            "{after}"
        );
        // It broke off, and the next began on the same line.
        place(read(format!("{before}{whole}").as_bytes(), noon()));
    }
}

#[test]
fn what_is_no_text_is_refused() {
    assert_eq!(read(&[0, 159, 146, 150], noon()), Err(Refused::NotText));
    assert_eq!(read(b"$\xff\xfe*00", noon()), Err(Refused::NotText));
    assert_eq!(read(b"$GP\x00RMC,*00", noon()), Err(Refused::NotText));
    // A network may put a prefix before a sentence (IEC 61162-450).
    let prefixed = [b"UdPbC\0\\s:GP0001*1E\\".as_slice(), sealed(GGA).as_bytes()].concat();
    place(read(&prefixed, noon()));
}

#[test]
fn other_traffic_concerns_nobody() {
    for (body, kind) in [
        ("SDDBT,12.3,f,3.7,M,2.0,F", Kind::Other),
        ("WIMWV,045.0,R,10.2,N,A", Kind::Other),
        ("PMKRT,1", Kind::Other),
        (
            "AIVDM,2,1,3,B,55P5TL01VIaAL@7WKO@mBplU@<PDhh000000001S;AJ::4A80?4i@E53,0",
            Kind::Ais,
        ),
    ] {
        assert_eq!(said(body), Ok(Said::Nothing(kind)), "{body}");
    }
    assert_eq!(said("AIVDM,1,1,,A"), Err(Refused::Unsound));
    assert_eq!(said("AIVDM,1,1,,A,15RTgt0PAso,9"), Err(Refused::Unsound));
}

proptest! {
    #[test]
    fn arbitrary_bytes_never_panic_and_are_never_a_place(
        line in proptest::collection::vec(any::<u8>(), 0..130),
    ) {
        prop_assert!(!matches!(read(&line, noon()), Ok(Said::Fixed(_) | Said::Beacon(_))));
    }

    #[test]
    fn arbitrary_fields_never_panic(
        address in "[A-Z]{2}(RMC|GGA|GLL|VDM)", data in "[ -#%-)+-~]{0,90}",
    ) {
        drop(said(&format!("{address},{data}")));
    }

    #[test]
    fn fields_like_figures_never_panic_and_give_a_place_on_earth(
        kind in "(GPRMC|GPGGA|GPGLL)",
        fields in proptest::collection::vec("(|[0-9]{1,6}(\\.[0-9]{0,4})?|[ANSEWV]|nan|inf|-[0-9]{4})", 1..16),
    ) {
        if let Ok(Said::Fixed(fixed)) = said(&format!("{kind},{}", fields.join(","))) {
            prop_assert!(fixed.position.lat_deg().abs() <= 85.0);
        }
    }

    /// The one byte that may be another is the case of a digit of the checksum: the same figure.
    #[test]
    fn one_flipped_byte_never_yields_another_place(at in 0_usize..200, flip in 1_u8..=255) {
        for body in [RMC, GGA, GLL, "AIVDM,1,1,,A,1>O5e@>P08RM4OH?rUR4W?vcP000,0"] {
            let whole = sealed(body);
            let expected = read(whole.as_bytes(), noon()).unwrap();
            let mut line = whole.clone().into_bytes();
            let at = at % line.len();
            line[at] ^= flip;
            match read(&line, noon()) {
                Ok(read @ (Said::Fixed(_) | Said::Beacon(_))) => {
                    prop_assert_eq!(read, expected);
                    prop_assert!(line.eq_ignore_ascii_case(whole.as_bytes()));
                    prop_assert!(at >= whole.len() - 2);
                }
                Ok(Said::Nothing(_)) | Err(_) => {}
            }
        }
    }
}
