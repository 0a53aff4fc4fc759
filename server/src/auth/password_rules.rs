//! Which passwords are taken: long enough, and not among the first anyone would try.

/// Least and most bytes.
pub const LEAST_BYTES: usize = 12;
/// See [`LEAST_BYTES`]; the cap keeps hashing bounded.
pub const MOST_BYTES: usize = 128;

/// Common passwords of twelve and more characters, one a line, lower case.
const COMMON: &str = include_str!("common_passwords.txt");
/// Words that are common passwords with anything put round them.
const COMMON_WORDS: &[&str] = &[
    "password",
    "passwort",
    "passw",
    "pass",
    "welcome",
    "letmein",
    "iloveyou",
    "qwerty",
    "qwertz",
    "azerty",
    "admin",
    "administrator",
    "changeme",
    "default",
    "dragon",
    "monkey",
    "football",
    "baseball",
    "master",
    "shadow",
    "sunshine",
    "princess",
    "superman",
    "batman",
    "trustno",
    "trustnoone",
    "secret",
    "login",
    "user",
    "guest",
    "root",
    "test",
    "testing",
    "summer",
    "winter",
    "spring",
    "autumn",
    "january",
    "hello",
    "helloworld",
    "whatever",
    "freedom",
    "computer",
    "internet",
    "battenboard",
    "batten",
    "camper",
    "campervan",
    "vanlife",
];
/// Runs of keys and letters that fingers and tongues know.
const RUNS: &[&str] = &[
    "abcdefghijklmnopqrstuvwxyz",
    "0123456789",
    "1234567890",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
    "qazwsxedcrfvtgbyhnujmikolp",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik9ol0p",
    "1q2w3e4r5t6y7u8i9o0p",
];

/// Why a password is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PasswordFault {
    /// Too short.
    #[error("too short: at least {LEAST_BYTES} characters")]
    TooShort,
    /// Too long.
    #[error("too long: at most {MOST_BYTES} bytes")]
    TooLong,
    /// Little else than the account's name.
    #[error("too close to the account's name")]
    HoldsName,
    /// Known to every guesser, or made by a rule that is.
    #[error("too easy to guess: this is among the first passwords anyone would try; three or four unrelated words do")]
    Common,
}

/// Looks at a password for an account of this name.
///
/// # Errors
/// The first [`PasswordFault`].
pub fn examine(password: &str, name: &str) -> Result<(), PasswordFault> {
    if password.len() < LEAST_BYTES {
        return Err(PasswordFault::TooShort);
    }
    if password.len() > MOST_BYTES {
        return Err(PasswordFault::TooLong);
    }
    let lower = password.to_lowercase();
    let plain = without_disguise(&lower);
    // The name is known to every guesser, so what is not the name must be long enough by itself.
    let left = |text: &str| text.replace(&name.to_lowercase(), "").len();
    if !name.is_empty() && [&lower, &plain].iter().any(|text| left(text) < LEAST_BYTES) {
        return Err(PasswordFault::HoldsName);
    }
    if COMMON.lines().any(|line| line == lower || line == plain)
        || [&lower, &plain].iter().any(|text| repeats(text) || is_run(text))
        || is_dressed_word(&lower)
        || is_dressed_word(&plain)
    {
        return Err(PasswordFault::Common);
    }
    Ok(())
}

/// Takes back the usual substitutions (`p@ssw0rd`).
fn without_disguise(lower: &str) -> String {
    let plain = |letter| match letter {
        '0' => 'o',
        '1' | '!' | '|' => 'i',
        '3' => 'e',
        '4' | '@' => 'a',
        '5' | '$' => 's',
        '7' => 't',
        other => other,
    };
    lower.chars().map(plain).collect()
}

/// A unit of at most four characters, over and over (`aaaa...`, `abc1abc1abc1`).
fn repeats(text: &str) -> bool {
    let letters: Vec<char> = text.chars().collect();
    (1..=4.min(letters.len() / 2)).any(|unit| letters.iter().enumerate().all(|(at, c)| *c == letters[at % unit]))
}

/// Part of a well-known run, going on at its beginning, forwards or backwards.
fn is_run(text: &str) -> bool {
    let times = MOST_BYTES / 10 + 2;
    RUNS.iter().any(|run| {
        let backwards: String = run.chars().rev().collect();
        run.repeat(times).contains(text) || backwards.repeat(times).contains(text)
    })
}

/// A common word, once or repeated, with only digits and signs round it.
fn is_dressed_word(text: &str) -> bool {
    let core = text.trim_matches(|c: char| !c.is_alphabetic());
    let bare: String = core.chars().filter(|c| c.is_alphabetic()).collect();
    !bare.is_empty()
        && COMMON_WORDS.iter().any(|word| {
            let rest = bare.replace(word, "");
            rest.is_empty() || COMMON_WORDS.contains(&rest.as_str()) || RUNS.iter().any(|run| run.starts_with(&rest))
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_long_and_common_ones_are_refused() {
        let fault = |password: &str| examine(password, "ines").err();
        assert_eq!(fault("short"), Some(PasswordFault::TooShort));
        assert_eq!(fault(&"x1y2".repeat(33)), Some(PasswordFault::TooLong));
        for common in [
            "password1234",
            "Password1234",
            "p@ssw0rd1234",
            "PASSWORDPASSWORD",
            "iloveyou1234",
            "welcome2026!!",
            "aaaaaaaaaaaa",
            "121212121212",
            "abcabcabcabc",
            "123456789012",
            "987654321098",
            "qwertyuiopas",
            "abcdefghijkl",
            "zyxwvutsrqpo",
            "1q2w3e4r5t6y",
            "1qaz2wsx3edc",
            "letmeinletmein",
            "admin!admin!1",
            "campervan2026",
            "correcthorsebatterystaple",
        ] {
            assert_eq!(fault(common), Some(PasswordFault::Common), "{common}");
        }
        assert_eq!(fault("ines-ines-ines"), Some(PasswordFault::HoldsName));
        assert_eq!(fault("xx1n35xx-yet"), Some(PasswordFault::HoldsName), "disguised");
    }

    #[test]
    fn words_of_ones_own_are_taken() {
        for good in
            ["a berth over the wheels", "tide-rope-lantern-7", "Øresund kestrel plank", "ines sleeps under larch"]
        {
            assert_eq!(examine(good, "ines"), Ok(()), "{good}");
        }
    }

    #[test]
    fn the_list_is_what_it_says() {
        assert!(COMMON.lines().count() >= 250);
        for line in COMMON.lines() {
            assert!(line.len() >= LEAST_BYTES && line == line.to_lowercase(), "{line}");
        }
    }
}
