//! The page that an unpaired device is shown, in its reader's language.

use axum::http::header::{ACCEPT_LANGUAGE, CONTENT_LANGUAGE, CONTENT_TYPE, REFERRER_POLICY};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};

use super::code::NotIn;

/// The page, with places for its words. Nothing else stands in them, least of all what was entered.
const PAGE: &str = include_str!("pair.html");

/// The words of the page.
struct Words {
    language: &'static str,
    title: &'static str,
    how: &'static str,
    field: &'static str,
    enter: &'static str,
    no_code: &'static str,
    wrong: &'static str,
    spent: &'static str,
}

const ENGLISH: Words = Words {
    language: "en",
    title: "Pair this device",
    how: "The screen at the bench shows a code of six digits. Enter it here; then you see the jobs, \
          and what you change is changed at the bench too.",
    field: "Code",
    enter: "Pair",
    no_code: "A code has six digits.",
    wrong: "This is not the code. Look at the bench once more.",
    spent: "This code is used up or too old. Ask for a new one at the bench.",
};

const GERMAN: Words = Words {
    language: "de",
    title: "Dieses Gerät anmelden",
    how: "Der Bildschirm an der Werkbank zeigt einen Code aus sechs Ziffern. Geben Sie ihn hier ein; \
          dann sehen Sie die Aufträge, und was Sie ändern, ändert sich auch dort.",
    field: "Code",
    enter: "Anmelden",
    no_code: "Ein Code hat sechs Ziffern.",
    wrong: "Das ist nicht der Code. Sehen Sie noch einmal an der Werkbank nach.",
    spent: "Dieser Code ist verbraucht oder zu alt. Fordern Sie an der Werkbank einen neuen an.",
};

/// The page in one language.
pub(super) struct PairPage(&'static Words);

impl PairPage {
    /// In the language that a browser asks for first, of those there are.
    pub(super) fn for_reader_of(headers: &HeaderMap) -> Self {
        let wanted = headers.get(ACCEPT_LANGUAGE).and_then(|value| value.to_str().ok());
        Self(first_of(wanted.unwrap_or_default()))
    }

    /// With what is to be said of the last try.
    pub(super) fn answer(&self, status: StatusCode, remark: Option<NotIn>) -> Response {
        let words = self.0;
        let remark = match remark {
            None => "",
            Some(NotIn::NoCode) => words.no_code,
            Some(NotIn::Wrong) => words.wrong,
            Some(NotIn::Spent) => words.spent,
        };
        let mut page = PAGE.to_owned();
        for (place, text) in [
            ("language", words.language),
            ("title", words.title),
            ("how", words.how),
            ("field", words.field),
            ("enter", words.enter),
            ("remark", remark),
        ] {
            page = page.replace(&format!("{{{{{place}}}}}"), text);
        }
        let kind = "text/html; charset=utf-8";
        let headers = [
            (CONTENT_TYPE, kind),
            (CONTENT_LANGUAGE, words.language),
            // Without a referrer a browser would keep to itself, too, which page sends the form.
            (REFERRER_POLICY, "same-origin"),
        ];
        (status, headers, page).into_response()
    }
}

/// `de-AT,de;q=0.9,en;q=0.8` asks for German first.
fn first_of(wanted: &str) -> &'static Words {
    let weighed = wanted.split(',').filter_map(|one| {
        let (tag, weight) = one.trim().split_once(';').unwrap_or((one.trim(), ""));
        let weight = weight.trim().strip_prefix("q=").and_then(|w| w.parse().ok()).unwrap_or(1.0);
        let language = tag.split('-').next().unwrap_or_default().to_ascii_lowercase();
        let words = [&ENGLISH, &GERMAN].into_iter().find(|words| words.language == language)?;
        Some((weight, words))
    });
    let best = weighed.fold(None, |best: Option<(f32, &'static Words)>, one| match best {
        Some(best) if best.0 >= one.0 => Some(best),
        _ => Some(one),
    });
    best.map_or(&ENGLISH, |(_, words)| words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_language_asked_for_first_is_taken() {
        for (wanted, language) in [
            ("", "en"),
            ("de", "de"),
            ("de-CH, en;q=0.5", "de"),
            ("en-GB,en;q=0.9,de;q=0.8", "en"),
            ("en;q=0.3, DE;q=0.8", "de"),
            ("fr-FR, it;q=0.9", "en"),
            ("pt, de;q=0.2", "de"),
            (";;;q=,,", "en"),
        ] {
            assert_eq!(first_of(wanted).language, language, "{wanted}");
        }
    }

    #[test]
    fn every_place_is_filled() {
        for words in [&ENGLISH, &GERMAN] {
            let response = PairPage(words).answer(StatusCode::OK, Some(NotIn::Wrong));
            let body = axum::body::to_bytes(response.into_body(), 1 << 16);
            let runtime = tokio::runtime::Builder::new_current_thread().build().expect("a thread");
            let body = runtime.block_on(body).expect("whole");
            let page = String::from_utf8_lossy(&body).into_owned();
            assert!(!page.contains("{{") && !page.contains("}}"), "{page}");
            for text in [words.title, words.how, words.field, words.enter, words.wrong] {
                assert!(page.contains(text), "{text}");
            }
        }
    }
}
