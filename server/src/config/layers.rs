//! From defaults, file, environment and flags to one [`Config`].

use super::{Config, Database, SignUp, TlsFiles};
use serde::Deserialize;
use std::io;
use std::net::SocketAddr;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// What the command line and the environment say; each wins over the file.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Flags {
    /// Configuration file (TOML); default: `server.toml` in the data folder, where there is one.
    #[arg(long, global = true, env = "BATTENBOARD_CONFIG")]
    pub config: Option<PathBuf>,
    /// Folder of the database and the keys.
    #[arg(long, global = true, env = "BATTENBOARD_DATA_FOLDER")]
    pub data_folder: Option<PathBuf>,
    /// Address to listen on, e.g. 127.0.0.1:7313.
    #[arg(long, global = true, env = "BATTENBOARD_LISTEN")]
    pub listen: Option<SocketAddr>,
    /// `postgres://...`; default: SQLite in the data folder. Best in a file (`database_file`), as it holds a password.
    #[arg(long, global = true, env = "BATTENBOARD_DATABASE", hide_env_values = true)]
    pub database: Option<String>,
    /// Folder of the signing keys; default: `keys` in the data folder.
    #[arg(long, global = true, env = "BATTENBOARD_KEYS_FOLDER")]
    pub keys_folder: Option<PathBuf>,
    /// Who may make an account once there is a first.
    #[arg(long, global = true, env = "BATTENBOARD_SIGN_UP")]
    pub sign_up: Option<SignUp>,
    /// TLS certificate chain, PEM.
    #[arg(long, global = true, env = "BATTENBOARD_TLS_CERTIFICATE")]
    pub tls_certificate: Option<PathBuf>,
    /// TLS private key, PEM.
    #[arg(long, global = true, env = "BATTENBOARD_TLS_KEY")]
    pub tls_key: Option<PathBuf>,
    /// Listen to other machines without TLS: passwords then cross the network in the clear. Without this and without a
    /// certificate the server makes a certificate of its own.
    #[arg(long, global = true, env = "BATTENBOARD_PLAIN_PUBLIC")]
    pub plain_public: bool,
    /// Name or address, with or without a port, by which others reach this server; for the joining line.
    #[arg(long, global = true, value_name = "HOST", env = "BATTENBOARD_REACHED_AT")]
    pub reached_at: Option<String>,
    /// Checks at a time.
    #[arg(long, global = true, env = "BATTENBOARD_CHECKS")]
    pub checks: Option<usize>,
    /// Most members of a design.
    #[arg(long, global = true, env = "BATTENBOARD_MEMBERS")]
    pub members: Option<usize>,
    /// Lifetime of access tokens, seconds.
    #[arg(long, global = true, env = "BATTENBOARD_ACCESS_S")]
    pub access_s: Option<i64>,
    /// Lifetime of refresh tokens, seconds.
    #[arg(long, global = true, env = "BATTENBOARD_REFRESH_S")]
    pub refresh_s: Option<i64>,
    /// Calls a second of one account.
    #[arg(long, global = true, env = "BATTENBOARD_CALLS_PER_SECOND")]
    pub calls_per_second: Option<u32>,
    /// Log as JSON lines.
    #[arg(long, global = true, env = "BATTENBOARD_LOG_JSON")]
    pub log_json: bool,
}

/// What the file may say.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    listen: Option<SocketAddr>,
    database: Option<String>,
    /// A file that holds the database's address.
    database_file: Option<PathBuf>,
    keys_folder: Option<PathBuf>,
    sign_up: Option<SignUp>,
    tls_certificate: Option<PathBuf>,
    tls_key: Option<PathBuf>,
    plain_public: Option<bool>,
    reached_at: Option<String>,
    checks: Option<usize>,
    members: Option<usize>,
    access_s: Option<i64>,
    refresh_s: Option<i64>,
    calls_per_second: Option<u32>,
    grace_s: Option<u64>,
}

/// Why a server cannot be configured so.
#[derive(Debug, thiserror::Error)]
pub enum ConfigError {
    /// A file cannot be read.
    #[error("`{}`: {source}", path.display())]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The configuration file has a fault.
    #[error("`{}` line {line}: {message}", path.display())]
    Faulty {
        /// Which.
        path: PathBuf,
        /// Where, from 1.
        line: usize,
        /// What.
        message: String,
    },
    /// No home folder is known.
    #[error("there is no home folder to keep data in: say `--data-folder`")]
    NoFolder,
    /// The database's address is of no known kind.
    #[error("`database` must begin with `postgres://`; leave it out for SQLite in the data folder")]
    UnknownDatabase,
    /// Certificate without key or the other way round.
    #[error("`tls_certificate` and `tls_key` go together")]
    HalfTls,
    /// A number is out of range.
    #[error("`{key}` is {value}: from {least} to {most} is possible")]
    OutOfRange {
        /// Which.
        key: &'static str,
        /// As stated.
        value: i64,
        /// Least.
        least: i64,
        /// Most.
        most: i64,
    },
    /// What others are to reach the server by is no name or address.
    #[error("`reached_at` is `{said}`: a name or address is wanted, with or without a port, as boards.example:7313")]
    ReachedAt {
        /// As stated.
        said: String,
    },
}

/// The folder for data where none is said: `$XDG_DATA_HOME/battenboard` or `~/.local/share/battenboard`.
///
/// # Errors
/// [`ConfigError::NoFolder`].
pub fn data_folder() -> Result<PathBuf, ConfigError> {
    let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let home = || set("HOME").map(|home| home.join(".local").join("share"));
    let base = set("XDG_DATA_HOME").filter(|path| path.is_absolute()).or_else(home);
    Ok(base.ok_or(ConfigError::NoFolder)?.join("battenboard"))
}

/// Lays the layers over each other.
///
/// # Errors
/// [`ConfigError`].
pub fn load(flags: &Flags) -> Result<Config, ConfigError> {
    let folder = flags.data_folder.clone().map_or_else(data_folder, Ok)?;
    let usual = folder.join("server.toml");
    let file = match &flags.config {
        Some(path) => read(path)?,
        None if usual.exists() => read(&usual)?,
        None => File::default(),
    };
    let mut config = Config::new(folder);
    config.listen = flags.listen.or(file.listen).unwrap_or(config.listen);
    config.database = database(flags.database.clone(), file.database, file.database_file)?;
    config.keys_folder = flags.keys_folder.clone().or(file.keys_folder);
    config.sign_up = flags.sign_up.or(file.sign_up).unwrap_or_default();
    config.tls = tls(flags.tls_certificate.clone().or(file.tls_certificate), flags.tls_key.clone().or(file.tls_key))?;
    config.plain_public = flags.plain_public || file.plain_public.unwrap_or(false);
    set(&mut config.workers.checks, "checks", flags.checks.or(file.checks), 1, 64)?;
    set(&mut config.limits.members, "members", flags.members.or(file.members), 1, 10_000)?;
    set(&mut config.lifetimes.access_s, "access_s", flags.access_s.or(file.access_s), 1, 86_400)?;
    set(&mut config.lifetimes.refresh_s, "refresh_s", flags.refresh_s.or(file.refresh_s), 1, 400 * 86_400)?;
    let calls = flags.calls_per_second.or(file.calls_per_second);
    set(&mut config.limits.calls_per_second, "calls_per_second", calls, 1, 1_000_000)?;
    set(&mut config.grace_s, "grace_s", file.grace_s, 0, 600)?;
    config.reached_at = reached_at(flags.reached_at.clone().or(file.reached_at))?;
    Ok(config)
}

fn set<T: Copy + TryInto<i64>>(
    place: &mut T,
    key: &'static str,
    said: Option<T>,
    least: i64,
    most: i64,
) -> Result<(), ConfigError> {
    let Some(said) = said else { return Ok(()) };
    let value = said.try_into().unwrap_or(i64::MAX);
    if !(least..=most).contains(&value) {
        return Err(ConfigError::OutOfRange { key, value, least, most });
    }
    *place = said;
    Ok(())
}

fn database(
    flag: Option<String>,
    said: Option<String>,
    file: Option<PathBuf>,
) -> Result<Option<Database>, ConfigError> {
    let kept = |path: PathBuf| read_text(&path).map(|text| text.trim().to_owned());
    let address = match (flag.or(said), file) {
        (Some(address), _) => address,
        (None, Some(path)) => kept(path)?,
        (None, None) => return Ok(None),
    };
    if address.starts_with("postgres://") || address.starts_with("postgresql://") {
        return Ok(Some(Database::Postgres(address)));
    }
    Err(ConfigError::UnknownDatabase)
}

fn tls(certificate: Option<PathBuf>, key: Option<PathBuf>) -> Result<Option<TlsFiles>, ConfigError> {
    match (certificate, key) {
        (Some(certificate), Some(key)) => Ok(Some(TlsFiles { certificate, key })),
        (None, None) => Ok(None),
        _ => Err(ConfigError::HalfTls),
    }
}

fn reached_at(said: Option<String>) -> Result<Option<String>, ConfigError> {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-.:[]".contains(c);
    match said {
        Some(said) if said.is_empty() || said.len() > 200 || !said.chars().all(plain) => {
            Err(ConfigError::ReachedAt { said: said.chars().take(200).collect::<String>().escape_debug().to_string() })
        }
        said => Ok(said),
    }
}

fn read_text(path: &Path) -> Result<String, ConfigError> {
    std::fs::read_to_string(path).map_err(|source| ConfigError::Unreadable { path: path.to_owned(), source })
}

fn read(path: &Path) -> Result<File, ConfigError> {
    let text = read_text(path)?;
    toml::from_str(&text).map_err(|error| ConfigError::Faulty {
        path: path.to_owned(),
        line: line_of(&text, error.span()),
        message: error.message().to_owned(),
    })
}

fn line_of(text: &str, span: Option<Range<usize>>) -> usize {
    let before = span.and_then(|span| text.get(..span.start)).unwrap_or_default();
    before.matches('\n').count() + 1
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use crate::config::Guard;

    fn folder(name: &str, text: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("battenboard-config-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("server.toml"), text).unwrap();
        folder
    }

    fn flags(folder: &Path) -> Flags {
        Flags { data_folder: Some(folder.to_owned()), ..Flags::default() }
    }

    #[test]
    fn flags_win_over_the_file_and_the_file_over_the_defaults() {
        let folder = folder("layers", "listen = \"127.0.0.1:9000\"\nsign_up = \"open\"\nmembers = 500\n");
        let config = load(&Flags { members: Some(700), ..flags(&folder) }).unwrap();
        assert_eq!(config.listen.port(), 9000);
        assert_eq!(config.sign_up, SignUp::Open);
        assert_eq!(config.limits.members, 700);
        assert_eq!(config.lifetimes.access_s, 600);
        assert_eq!(config.database(), Database::Embedded(folder.join("battenboard.db")));
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_fault_of_the_file_is_told_with_its_line() {
        let folder = folder("fault", "sign_up = \"open\"\nlissen = \"127.0.0.1:9000\"\n");
        let error = load(&flags(&folder)).unwrap_err();
        assert!(matches!(&error, ConfigError::Faulty { line: 2, .. }), "{error}");
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_public_address_is_never_without_tls_unless_said() {
        let folder = folder("public", "");
        assert_eq!(load(&flags(&folder)).unwrap().guard(), Guard::None, "loopback");
        let public = |address: &str| Flags { listen: Some(address.parse().unwrap()), ..flags(&folder) };
        // The last is this machine's loopback too, but no list of such cases is ever whole: public.
        for address in ["0.0.0.0:7313", "192.168.1.4:7313", "[::]:7313", "[fe80::1]:7313", "[::ffff:127.0.0.1]:7313"] {
            assert_eq!(load(&public(address)).unwrap().guard(), Guard::Own, "{address}");
        }
        let public = public("0.0.0.0:7313");
        assert_eq!(load(&Flags { plain_public: true, ..public.clone() }).unwrap().guard(), Guard::None);
        let files = Flags {
            tls_certificate: Some("certificate.pem".into()),
            tls_key: Some("key.pem".into()),
            plain_public: true,
            ..public.clone()
        };
        assert!(matches!(load(&files).unwrap().guard(), Guard::Files(_)), "TLS wins over plain");
        let half = Flags { tls_key: Some("key.pem".into()), ..public };
        assert!(matches!(load(&half), Err(ConfigError::HalfTls)));
        std::fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn numbers_and_addresses_are_looked_at() {
        let folder = folder("numbers", "");
        let none = Flags { checks: Some(0), ..flags(&folder) };
        assert!(matches!(load(&none), Err(ConfigError::OutOfRange { key: "checks", .. })));
        for odd in ["", "a b", "http://boards", "me@boards", &"a".repeat(201)] {
            let odd = Flags { reached_at: Some(odd.into()), ..flags(&folder) };
            assert!(matches!(load(&odd), Err(ConfigError::ReachedAt { .. })));
        }
        let odd = Flags { database: Some("file:x".into()), ..flags(&folder) };
        assert!(matches!(load(&odd), Err(ConfigError::UnknownDatabase)));
        std::fs::remove_dir_all(folder).unwrap();
    }
}
