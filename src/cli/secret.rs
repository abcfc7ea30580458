//! Where PINs and passphrases come from: a file, a file descriptor, or the keyboard without
//! echo. Never the command line, which everybody on the machine can read.

use std::io::{self, IsTerminal, Read};
use std::path::{Path, PathBuf};

use zeroize::Zeroizing;

use super::exit::Exit;
use super::report::CliError;

/// A secret is never longer than this; more is a wrong file.
const SECRET_BYTES_MAX: u64 = 1024;

/// Where one secret comes from.
#[derive(Debug, Clone, Default)]
pub struct SecretSource {
    /// A file whose first line it is.
    pub file: Option<PathBuf>,
    /// An open file descriptor whose first line it is.
    pub fd: Option<u32>,
}

impl SecretSource {
    /// Comes from a file or descriptor.
    #[must_use]
    pub const fn is_given(&self) -> bool {
        self.file.is_some() || self.fd.is_some()
    }

    /// The secret if a file or descriptor gives one.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn given(&self) -> Result<Option<Zeroizing<String>>, CliError> {
        match (&self.file, self.fd) {
            (Some(path), _) => first_line(path).map(Some),
            (None, Some(fd)) => first_line(Path::new(&format!("/dev/fd/{fd}"))).map(Some),
            (None, None) => Ok(None),
        }
    }

    /// The secret, asked for at the keyboard if need be.
    ///
    /// # Errors
    /// When there is neither a source nor a keyboard.
    pub fn read(&self, prompt: &str, option: &str) -> Result<Zeroizing<String>, CliError> {
        if let Some(secret) = self.given()? {
            return Ok(secret);
        }
        if !io::stdin().is_terminal() {
            return Err(
                CliError::new(Exit::Usage, "a PIN is needed and nobody can be asked")
                    .hint(format!("give --{option}-file FILE or --{option}-fd N")),
            );
        }
        Ok(Zeroizing::new(rpassword::prompt_password(prompt)?))
    }

    /// A new secret, asked for twice at the keyboard if need be.
    ///
    /// # Errors
    /// As [`SecretSource::read`], or if the two differ.
    pub fn read_new(&self, prompt: &str, option: &str) -> Result<Zeroizing<String>, CliError> {
        let secret = self.read(prompt, option)?;
        if self.is_given() {
            return Ok(secret);
        }
        let again = Zeroizing::new(rpassword::prompt_password("The same again: ")?);
        if *again == *secret {
            Ok(secret)
        } else {
            Err(CliError::refused("the two differ; nothing was changed"))
        }
    }
}

fn first_line(path: &Path) -> Result<Zeroizing<String>, CliError> {
    let unreadable = |cause: io::Error| {
        CliError::new(
            Exit::Refused,
            format!("no PIN can be read from {}: {cause}", path.display()),
        )
    };
    let file = std::fs::File::open(path).map_err(unreadable)?;
    let mut text = Zeroizing::new(String::new());
    file.take(SECRET_BYTES_MAX)
        .read_to_string(&mut text)
        .map_err(unreadable)?;
    let line = text.lines().next().unwrap_or_default();
    if line.is_empty() {
        return Err(CliError::refused(format!(
            "{} holds no PIN in its first line",
            path.display()
        )));
    }
    Ok(Zeroizing::new(line.to_owned()))
}
