//! A server known by its certificate alone: exactly that one is taken, whoever vouches for it and whatever it says.

use rustls::DigitallySignedStruct;
use rustls::SignatureScheme;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{WebPkiSupportedAlgorithms, aws_lc_rs, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{CertificateError, Error};
use sha2::{Digest, Sha256};
use std::sync::OnceLock;

/// Takes the certificate with one fingerprint and no other.
#[derive(Debug)]
pub struct Pinned {
    wanted: String,
    algorithms: WebPkiSupportedAlgorithms,
    other: OnceLock<String>,
}

impl Pinned {
    /// Takes only the certificate whose SHA-256 this is, in lower-case hex.
    pub fn to(wanted: &str) -> Self {
        let algorithms = aws_lc_rs::default_provider().signature_verification_algorithms;
        Self { wanted: wanted.to_owned(), algorithms, other: OnceLock::new() }
    }

    /// Fingerprint of another certificate that was shown and refused.
    pub fn other(&self) -> Option<&str> {
        self.other.get().map(String::as_str)
    }
}

fn fingerprint(certificate: &CertificateDer<'_>) -> String {
    Sha256::digest(certificate).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl ServerCertVerifier for Pinned {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let shown = fingerprint(end_entity);
        if shown == self.wanted {
            return Ok(ServerCertVerified::assertion());
        }
        let _ = self.other.set(shown);
        Err(Error::InvalidCertificate(CertificateError::ApplicationVerificationFailure))
    }

    // Whoever shows the certificate must also hold its key: these two see to that.
    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signature: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls12_signature(message, certificate, signature, &self.algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signature: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls13_signature(message, certificate, signature, &self.algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.algorithms.supported_schemes()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn only_the_certificate_of_the_fingerprint_is_taken_and_another_is_remembered() {
        // SHA-256 of "abc": FIPS 180-2 appendix B.1.
        let pinned = Pinned::to("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        let ask = |bytes: &'static [u8]| {
            let name = ServerName::try_from("board").unwrap();
            pinned.verify_server_cert(&CertificateDer::from(bytes), &[], &name, &[], UnixTime::now())
        };
        assert!(ask(b"abc").is_ok());
        assert_eq!(pinned.other(), None);
        assert!(ask(b"abd").is_err());
        assert_eq!(pinned.other().map(str::len), Some(64));
    }
}
