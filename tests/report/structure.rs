//! The page as a machine reads it for people: headings, tables, pictures, links.

use std::collections::BTreeSet;

use super::fixture::Kit;
use super::fixture::{kit, open};

fn kits() -> Vec<Kit> {
    let closed = kit();
    let mut draft = kit();
    draft.standings.push(open());
    vec![closed.opened(), closed, draft]
}

/// What stands between two marks, each time.
fn between<'t>(text: &'t str, from: &str, to: &str) -> Vec<&'t str> {
    text.split(from).skip(1).map(|rest| rest.split_once(to).unwrap().0).collect()
}

fn attribute<'t>(text: &'t str, name: &str) -> Vec<&'t str> {
    between(text, &format!(" {name}=\""), "\"")
}

#[test]
fn headings_stand_in_order() {
    for kit in kits() {
        let html = kit.html();
        assert_eq!(html.matches("<h1").count(), 1);
        let levels: Vec<u32> =
            html.match_indices("<h").filter_map(|(at, _)| html[at + 2..].chars().next()?.to_digit(10)).collect();
        assert_eq!(levels[0], 1);
        assert!(levels.len() > 20, "{levels:?}");
        assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
        assert!(html.contains("<html lang=\"en\">") && html.contains("name=\"viewport\""));
    }
}

#[test]
fn tables_have_captions_and_heads() {
    for kit in kits() {
        let html = kit.html();
        let tables = between(&html, "<table>", "</table>");
        assert!(tables.len() > 15);
        for table in tables {
            let caption = between(table, "<caption>", "</caption>");
            assert!(caption.len() == 1 && !caption[0].trim().is_empty(), "{table}");
            let heads = table.matches("<th scope=\"col\"").count();
            assert_eq!(table.matches("<th ").count(), table.matches("<th scope=\"").count(), "{table}");
            for row in between(between(table, "<tbody>", "</tbody>")[0], "<tr", "</tr>") {
                assert_eq!(row.matches("<th scope=\"row\"").count(), 1, "{row}");
                assert_eq!(row.matches("<td").count() + 1, heads, "{caption:?} {row}");
            }
        }
    }
}

#[test]
fn pictures_say_what_they_show() {
    for kit in kits() {
        let html = kit.html();
        let pictures = between(&html, "<svg", "</svg>");
        assert!(pictures.len() >= 7, "{}", pictures.len());
        for picture in pictures {
            for part in ["title", "desc"] {
                let told = between(picture, &format!("<{part} id="), &format!("</{part}>"));
                assert!(told.len() == 1 && told[0].split_once('>').unwrap().1.chars().count() > 10, "{told:?}");
            }
            assert!(!picture.contains("NaN") && !picture.contains("inf"), "{picture}");
        }
        assert_eq!(html.matches("<figure>").count(), html.matches("<figcaption>").count());
    }
}

#[test]
fn names_in_links_are_there_once() {
    for kit in kits() {
        let html = kit.html();
        let ids = attribute(&html, "id");
        let once: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), once.len());
        for href in attribute(&html, "href") {
            assert!(href.strip_prefix('#').is_some_and(|name| once.contains(name)), "{href}");
        }
        for labels in attribute(&html, "aria-labelledby") {
            assert!(labels.split(' ').all(|label| once.contains(label)), "{labels}");
        }
    }
}

#[test]
fn nothing_is_loaded_and_nothing_runs() {
    for kit in kits() {
        let html = kit.html();
        let without = html.replace("http://www.w3.org/2000/svg", "");
        for word in
            ["http:", "https:", "//", "<script", "<link", "<img", "<iframe", "@import", " src=", "onload", "javascript"]
        {
            assert!(!without.contains(word), "{word}");
        }
        for url in between(&without, "url(", ")") {
            assert!(url.starts_with('#'), "{url}");
        }
    }
}

#[test]
fn names_in_back_quotes_are_never_shown_raw() {
    for kit in kits() {
        assert!(!kit.html().contains('`'));
        assert!(!loopleaf::report::text(&kit.page()).contains('`'));
    }
}

#[test]
fn no_number_is_nothing() {
    for kit in kits() {
        let text = loopleaf::report::text(&kit.page());
        for word in ["NaN", "inf ", "Some(", "± 0 "] {
            assert!(!text.contains(word), "{word}");
        }
    }
}

/// Relative luminance of `#rrggbb` or `#rgb`, as WCAG 2.2 defines it.
fn luminance(colour: &str) -> f64 {
    let digits = colour.trim_start_matches('#');
    let parts: Vec<String> = if digits.len() == 3 {
        digits.chars().map(|digit| format!("{digit}{digit}")).collect()
    } else {
        (0..3).map(|at| digits[2 * at..2 * at + 2].to_owned()).collect()
    };
    let linear = |part: &String| {
        let share = f64::from(u8::from_str_radix(part, 16).unwrap()) / 255.0;
        if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(&parts[0]) + 0.7152 * linear(&parts[1]) + 0.0722 * linear(&parts[2])
}

#[test]
fn letters_stand_out_from_their_ground() {
    let html = kit().html();
    let style = between(&html, "<style>", "</style>")[0];
    let inks: Vec<&str> = between(style, " color: ", ";").into_iter().filter(|ink| ink.starts_with('#')).collect();
    assert!(inks.len() > 3);
    for ink in inks {
        // White letters stand on the black of the draft's box, all others on white.
        let ground = if ink == "#fff" { "#111" } else { "#fff" };
        let (a, b) = (luminance(ink), luminance(ground));
        let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
        assert!(contrast >= 4.5, "{ink} on {ground}: {contrast:.2}");
    }
    assert!(style.contains("focus-visible") && style.contains("@media print") && style.contains("table-header-group"));
    assert!(html.contains("class=\"skip\""));
}

#[test]
fn the_same_is_made_twice() {
    assert_eq!(kit().html(), kit().html());
}
