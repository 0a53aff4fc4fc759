//! The tables as sea-orm sees them: column for column what `migrations` creates, nothing else.

pub mod accounts;
pub mod checks;
pub mod crew;
pub mod designs;
pub mod events;
pub mod findings;
pub mod groups;
pub mod invitations;
pub mod passwords;
pub mod proof_loads;
pub mod proof_results;
pub mod refresh_tokens;
pub mod remark_entries;
pub mod remarks;
pub mod requests;
pub mod revisions;
pub mod sessions;
pub mod settings;
pub mod streams;
pub mod surveys;
pub mod vehicles;
