//! The joining line: where a server is, the fingerprint of its certificate, and a one-time code. It goes to somebody by
//! another way than the network, and comes back from his keyboard or a message, broken or not.

use crate::error::ClientError;
use std::fmt;

/// Digits of a fingerprint.
const DIGITS: usize = 64;
/// Longest code, letters.
const LONGEST_CODE: usize = 40;

/// What a joining line says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JoiningLine {
    /// Host and port.
    pub address: String,
    /// SHA-256 of the server's certificate, lower-case hex.
    pub fingerprint: String,
    /// One-time code; without one the line only makes the server known.
    pub code: Option<String>,
}

impl JoiningLine {
    /// Reads a line as typed: the words of `batten join ...`, with or without those two, wherever it was broken.
    ///
    /// # Errors
    /// [`ClientError::Usage`] naming the piece that is wrong.
    pub fn read(words: &[String]) -> Result<Self, ClientError> {
        let words: Vec<&str> = words.iter().flat_map(|word| word.split_whitespace()).collect();
        let rest = words.strip_prefix(&["batten", "join"]).unwrap_or(&words);
        let line = rest.concat();
        let line = line.strip_prefix("https://").unwrap_or(&line);
        let mut pieces = line.split('/');
        let (address, fingerprint) = (pieces.next().unwrap_or_default(), pieces.next().unwrap_or_default());
        let code = pieces.next().filter(|code| !code.is_empty());
        if pieces.next().is_some() || fingerprint.is_empty() {
            let found = line.split('/').count();
            return Err(fault(format!("a joining line has two or three pieces between `/`, and this one has {found}")));
        }
        let host = address.rsplit_once(':').map(|(host, port)| (host, port.parse::<u16>()));
        if !matches!(host, Some((host, Ok(1..))) if !host.is_empty()) || address.contains(['@', '?', '#']) {
            return Err(fault(format!("the line begins with `{address}`, which is no address with a port")));
        }
        Ok(Self { address: address.to_owned(), fingerprint: read_fingerprint(fingerprint)?, code: read_code(code)? })
    }

    /// Address of the server as the command keeps it.
    pub fn url(&self) -> String {
        format!("https://{}", self.address)
    }
}

fn read_fingerprint(typed: &str) -> Result<String, ClientError> {
    let digits: String = typed.chars().filter(|c| *c != ':').map(|c| c.to_ascii_lowercase()).collect();
    if let Some(odd) = digits.chars().find(|c| !c.is_ascii_hexdigit()) {
        return Err(fault(format!(
            "there is a `{odd}` in the fingerprint, the middle piece, which is digits and a to f"
        )));
    }
    match digits.len() {
        DIGITS => Ok(digits),
        count => Err(fault(format!("the fingerprint, the middle piece, has {count} digits; {DIGITS} are wanted"))),
    }
}

fn read_code(typed: Option<&str>) -> Result<Option<String>, ClientError> {
    let Some(code) = typed else { return Ok(None) };
    if code.len() > LONGEST_CODE || !code.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') {
        return Err(fault("the code, the last piece, is letters, digits and hyphens, and not so long".to_owned()));
    }
    Ok(Some(code.to_owned()))
}

fn fault(message: String) -> ClientError {
    ClientError::usage(message, "copy the whole line, from the address to the end of the code, and try again")
}

impl fmt::Display for JoiningLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.address, self.fingerprint)?;
        self.code.iter().try_for_each(|code| write!(f, "/{code}"))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    const PRINT: &str = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08";

    fn read(line: &str) -> Result<JoiningLine, ClientError> {
        JoiningLine::read(&[line.to_owned()])
    }

    #[test]
    fn a_line_is_read_however_it_came() {
        let line = format!("192.0.2.7:7313/{PRINT}/abcde-fghij-kmnpq-rstuv");
        let good = read(&line).unwrap();
        assert_eq!(good.url(), "https://192.0.2.7:7313");
        assert_eq!(good.code.as_deref(), Some("abcde-fghij-kmnpq-rstuv"));
        assert_eq!(good.to_string(), line);
        let broken =
            format!("batten join 192.0.2.7:7313/{}\n  {}/abcde-fghij-\nkmnpq-rstuv ", &PRINT[..30], &PRINT[30..]);
        assert_eq!(read(&broken).unwrap(), good);
        let words: Vec<String> = broken.split_whitespace().map(str::to_owned).collect();
        assert_eq!(JoiningLine::read(&words).unwrap(), good);
        // As other programs write a fingerprint.
        let pairs: Vec<String> =
            PRINT.to_uppercase().as_bytes().chunks(2).map(|two| String::from_utf8_lossy(two).into()).collect();
        assert_eq!(read(&line.replace(PRINT, &pairs.join(":"))).unwrap(), good);
        let known = read(&format!("[2001:db8::7]:443/{PRINT}")).unwrap();
        assert_eq!((known.url().as_str(), known.code), ("https://[2001:db8::7]:443", None));
    }

    #[test]
    fn what_is_wrong_with_a_line_is_named() {
        let told = |line: &str| read(line).unwrap_err().to_string();
        assert!(told("").contains("two or three pieces"));
        assert!(told("192.0.2.7:7313").contains("two or three pieces"));
        assert!(told(&format!("a:1/{PRINT}/code/more")).contains("this one has 4"));
        assert!(told(&format!("192.0.2.7:7313/{}/code", &PRINT[..60])).contains("has 60 digits"));
        assert!(told(&format!("192.0.2.7:7313/{}/code", PRINT.replace('9', "g"))).contains("`g`"));
        for address in ["", "192.0.2.7", ":7313", "host:0", "host:port", "me@host:1", "host:70000"] {
            assert!(told(&format!("{address}/{PRINT}/code")).contains("no address"), "{address}");
        }
        for code in ["é", "a.b", &"a".repeat(41)] {
            assert!(told(&format!("host:1/{PRINT}/{code}")).contains("the last piece"), "{code}");
        }
    }
}
