//! The one layout: reached from any other, kept once reached, and without a word lost.

use loopleaf::syntax::format::format;
use proptest::prelude::*;

use crate::shipped::Piece;
use crate::shipped::{CAMPAIGNS, comments, fingerprint, leaf_files, memory, pieces, untidy};

/// Bytes that [`untidy`] takes its choices from.
fn noise() -> impl Strategy<Value = Vec<u8>> {
    proptest::collection::vec(any::<u8>(), 1..300)
}

/// Everything but layout: solid pieces, semicolons aside.
fn words(text: &str) -> Vec<&str> {
    let solid = |piece| match piece {
        Piece::Solid(";") => None,
        Piece::Solid(solid) => Some(solid),
        _ => None,
    };
    pieces(text).into_iter().filter_map(solid).collect()
}

#[test]
fn shipped_files_are_in_the_one_layout() {
    for (path, text) in leaf_files() {
        assert_eq!(format(&text).unwrap(), text, "{path}");
    }
}

#[test]
fn the_noise_is_noise() {
    let files = leaf_files();
    let (path, text) = &files[0];
    assert_eq!(comments(&untidy(text, &[0])), comments(text), "{path}");
    let noisy = untidy(text, &[210, 130, 240, 180, 150, 225]);
    assert!(comments(&noisy).len() > comments(text).len());
    assert!(noisy.contains(';'));
    assert_eq!(words(&noisy), words(text));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn any_layout_comes_to_rest_at_once_and_keeps_every_word(noise in noise()) {
        for (path, text) in leaf_files() {
            let noisy = untidy(&text, &noise);
            let laid_out = format(&noisy).unwrap_or_else(|error| panic!("{path}: {error}\n{noisy}"));
            prop_assert_eq!(&format(&laid_out).unwrap(), &laid_out, "{} is laid out anew", path);
            prop_assert_eq!(comments(&laid_out), comments(&noisy), "{} has other comments", path);
            prop_assert_eq!(words(&laid_out), words(&noisy), "{} has other words", path);
            for line in laid_out.lines() {
                prop_assert_eq!(line, line.trim_end(), "{} ends a line with spaces", path);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3))]

    #[test]
    fn layout_is_not_in_the_fingerprint(noise in noise()) {
        let files = leaf_files();
        let noisy: Vec<(String, String)> =
            files.iter().map(|(path, text)| (path.clone(), untidy(text, &noise))).collect();
        let laid_out: Vec<(String, String)> =
            noisy.iter().map(|(path, text)| (path.clone(), format(text).unwrap())).collect();
        for folder in CAMPAIGNS {
            let entry = format!("{folder}/campaign.leaf");
            let before = fingerprint(&entry, &memory(&files));
            prop_assert_eq!(&fingerprint(&entry, &memory(&noisy)), &before, "{} before", folder);
            prop_assert_eq!(&fingerprint(&entry, &memory(&laid_out)), &before, "{} after", folder);
        }
    }
}
