//! The server's own certificate, for a network without anybody to vouch for one: made once, known by its fingerprint.
//!
//! Callers pin the SHA-256 of the whole certificate, which the joining line carries to them by another way than the
//! network. Names and dates in it decide nothing then; they are there for programs that look at them.

use super::codes::hex;
use super::keys::{KeysError, make_private_folder, refuse_exposed, write_private};
use rcgen::{CertificateParams, DistinguishedName, DnType, KeyPair, KeyUsagePurpose, date_time_ymd};
use rustls_pki_types::CertificateDer;
use rustls_pki_types::pem::PemObject;
use sha2::{Digest, Sha256};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Name of the certificate's file; it may be given away.
pub const CERTIFICATE: &str = "certificate.pem";
/// Name of the key's file (mode 0600).
const KEY: &str = "key.pem";
/// The days between which the certificate is good. Fixed ones: a board without a battery believes at its first start
/// that it is 1970. Long: nobody renews it, and a new one makes everybody join again.
const GOOD_FROM: (i32, u8, u8) = (2025, 1, 1);
const GOOD_UNTIL: (i32, u8, u8) = (2125, 1, 1);

/// The day on which the certificate ends, for people.
pub const ENDS_ON: &str = "2125-01-01";

/// A certificate with its key, PEM.
pub struct OwnCertificate {
    /// The certificate.
    pub certificate: String,
    /// Its key.
    pub key: String,
    /// SHA-256 of the certificate in DER, lower-case hex.
    pub fingerprint: String,
}

/// Why there is no certificate.
#[derive(Debug, thiserror::Error)]
pub enum CertificateError {
    /// A file.
    #[error(transparent)]
    File(#[from] KeysError),
    /// The certificate is there and its key is not.
    #[error(
        "`{}` is there and its key `{KEY}` is not: put the key back, or take the certificate out too; then a new one is \
         made, and everybody has to join again", path.display()
    )]
    WithoutKey {
        /// The certificate's file.
        path: PathBuf,
    },
    /// It cannot be made or read.
    #[error("the server's own certificate in `{}`: {cause}", folder.display())]
    Unusable {
        /// Where it is.
        folder: PathBuf,
        /// Why.
        cause: String,
    },
}

impl OwnCertificate {
    /// Reads the certificate of a folder; makes it, for these names and addresses, where there is none.
    ///
    /// # Errors
    /// [`CertificateError`].
    pub fn open(folder: &Path, names: &[String]) -> Result<Self, CertificateError> {
        let (certificate_file, key_file) = (folder.join(CERTIFICATE), folder.join(KEY));
        let unusable = |cause: &dyn std::fmt::Display| CertificateError::Unusable {
            folder: folder.to_owned(),
            cause: cause.to_string(),
        };
        make_private_folder(folder)?;
        let (kept, key) = (read(&certificate_file)?, read(&key_file)?);
        let key = match key {
            Some(key) => {
                refuse_exposed(&key_file)?;
                key
            }
            None if kept.is_some() => return Err(CertificateError::WithoutKey { path: certificate_file }),
            None => {
                let key = KeyPair::generate().map_err(|error| unusable(&error))?.serialize_pem();
                write_private(&key_file, &key)?;
                key
            }
        };
        // The key is written first: a certificate that is there was made with it, however the first start ended.
        let certificate = match kept {
            Some(kept) => kept,
            None => {
                let pair = KeyPair::from_pem(&key).map_err(|error| unusable(&error))?;
                let made = make(&pair, names).map_err(|error| unusable(&error))?;
                write_private(&certificate_file, &made)?;
                made
            }
        };
        let der = CertificateDer::from_pem_slice(certificate.as_bytes()).map_err(|error| unusable(&error))?;
        let fingerprint = hex(&Sha256::digest(&der));
        Ok(Self { certificate, key, fingerprint })
    }
}

fn make(pair: &KeyPair, names: &[String]) -> Result<String, rcgen::Error> {
    let mut params = CertificateParams::new(names)?;
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, "Battenboard server");
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.not_before = date_time_ymd(GOOD_FROM.0, GOOD_FROM.1, GOOD_FROM.2);
    params.not_after = date_time_ymd(GOOD_UNTIL.0, GOOD_UNTIL.1, GOOD_UNTIL.2);
    Ok(params.self_signed(pair)?.pem())
}

fn read(path: &Path) -> Result<Option<String>, KeysError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(source) => Err(KeysError::File { path: path.to_owned(), source }),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    fn fresh() -> PathBuf {
        std::env::temp_dir().join(format!("battenboard-certificate-{}", crate::clock::new_id().simple()))
    }

    fn names() -> Vec<String> {
        ["board", "192.0.2.7", "2001:db8::7"].map(str::to_owned).to_vec()
    }

    #[test]
    fn it_is_made_once_and_its_key_is_the_servers_alone() {
        let folder = fresh();
        let made = OwnCertificate::open(&folder, &names()).unwrap();
        assert_eq!(made.fingerprint.len(), 64);
        let again = OwnCertificate::open(&folder, &["elsewhere".to_owned()]).unwrap();
        assert_eq!((again.certificate, again.fingerprint), (made.certificate, made.fingerprint));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let key = folder.join(KEY);
            assert_eq!(fs::metadata(&key).unwrap().permissions().mode() & 0o777, 0o600);
            fs::set_permissions(&key, fs::Permissions::from_mode(0o644)).unwrap();
            let exposed = OwnCertificate::open(&folder, &names());
            assert!(matches!(exposed, Err(CertificateError::File(KeysError::Exposed { .. }))));
        }
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_first_start_that_was_cut_short_is_taken_up_and_a_lost_key_is_told() {
        let folder = fresh();
        let made = OwnCertificate::open(&folder, &names()).unwrap();
        fs::remove_file(folder.join(CERTIFICATE)).unwrap();
        assert_eq!(OwnCertificate::open(&folder, &names()).unwrap().key, made.key);
        fs::remove_file(folder.join(KEY)).unwrap();
        assert!(matches!(OwnCertificate::open(&folder, &names()), Err(CertificateError::WithoutKey { .. })));
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn it_carries_the_names_and_addresses_it_was_made_for() {
        let folder = fresh();
        let made = OwnCertificate::open(&folder, &names()).unwrap();
        let der = CertificateDer::from_pem_slice(made.certificate.as_bytes()).unwrap();
        // RFC 5280 4.2.1.6: dNSName has tag 2, iPAddress tag 7 and its bytes in network order.
        let held = |bytes: &[u8]| der.as_ref().windows(bytes.len()).any(|window| window == bytes);
        assert!(held(b"\x82\x05board") && held(&[0x87, 4, 192, 0, 2, 7]));
        assert!(held(&[0x87, 16, 0x20, 0x01, 0x0d, 0xb8, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 7]));
        assert!(!held(&[0x87, 4, 192, 0, 2, 8]));
        fs::remove_dir_all(folder).unwrap();
    }
}
