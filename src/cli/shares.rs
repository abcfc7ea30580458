//! Where the three recovery shares go: shown once, or a new file each in a folder.

use std::fs::{DirBuilder, File, OpenOptions};
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use super::context::Context;
use super::report::CliError;
use crate::station::sealing::Share;

/// Where they go.
pub struct SharesTo {
    folder: Option<PathBuf>,
}

impl SharesTo {
    /// Looks at the place before anything is made: a folder that is there or can be, outside the
    /// journal, since a backup of the journal would carry its own keys; and with no share in it,
    /// since an older one may be all that opens an older copy.
    pub fn checked(folder: Option<PathBuf>, journal: &Path) -> Result<SharesTo, CliError> {
        let Some(folder) = folder else {
            return Ok(SharesTo { folder: None });
        };
        let refused = |why: &str| {
            let message = format!("{}: {why}; nothing was made", folder.display());
            CliError::refused(message).hint(
                "a folder outside the journal that holds no share yet, on a medium you can take away",
            )
        };
        if folder.exists() && !folder.is_dir() {
            return Err(refused("is no folder"));
        }
        let (place, journal) = (real(&folder), real(journal));
        if place.starts_with(&journal) {
            return Err(refused(
                "lies in the journal, which shares must lie apart from",
            ));
        }
        for path in files(&folder) {
            if path.symlink_metadata().is_ok() {
                return Err(refused("holds a share already, which is not written over"));
            }
        }
        Ok(SharesTo {
            folder: Some(folder),
        })
    }

    /// Hands them over, before anything is sealed for them.
    ///
    /// # Errors
    /// Why they did not arrive, in words; none is then left in a file.
    pub fn give(&self, cx: &Context, shares: &[Share; 3]) -> Result<(), String> {
        let Some(folder) = &self.folder else {
            return show(cx, shares).map_err(|error| error.message);
        };
        let written = write(folder, shares);
        if written.is_err() {
            for path in files(folder) {
                let _ = std::fs::remove_file(path);
            }
        }
        written.map_err(|error| format!("{}: {error}", folder.display()))
    }

    /// What to do with them, once the journal is sealed.
    pub fn told(&self, cx: &Context) -> Result<(), CliError> {
        let Some(folder) = &self.folder else {
            return tell(
                cx,
                "The records are sealed. The recovery shares above are shown once and kept nowhere: write each down for \
                 another person, apart from this computer.",
            );
        };
        tell(
            cx,
            &format!(
                "The records are sealed. Three recovery shares are in {}: share-1.txt to share-3.txt. Give each to another \
                 person, apart from this computer, and delete the files. Any two of them open the records; one alone says nothing.",
                folder.display()
            ),
        )
    }
}

fn files(folder: &Path) -> [PathBuf; 3] {
    [1, 2, 3].map(|number| folder.join(format!("share-{number}.txt")))
}

/// Where a path leads, also if its end is not there yet.
fn real(path: &Path) -> PathBuf {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    for above in path.ancestors() {
        if let (Ok(found), Ok(rest)) = (above.canonicalize(), path.strip_prefix(above)) {
            return found.join(rest);
        }
    }
    path
}

fn write(folder: &Path, shares: &[Share; 3]) -> std::io::Result<()> {
    if !folder.is_dir() {
        DirBuilder::new().mode(0o700).create(folder)?;
    }
    for (path, share) in files(folder).iter().zip(shares) {
        let mut options = OpenOptions::new();
        let mut file = options
            .write(true)
            .create_new(true)
            .mode(0o600)
            .open(path)?;
        file.write_all(share.text().as_bytes())?;
        file.write_all(b"\n")?;
        file.sync_all()?;
    }
    File::open(folder)?.sync_all()
}

fn show(cx: &Context, shares: &[Share; 3]) -> Result<(), CliError> {
    tell(
        cx,
        "These are the three recovery shares. Any two of them open the records; one alone says nothing.",
    )?;
    for share in shares {
        tell(cx, &share.text())?;
    }
    Ok(())
}

/// Where the result is JSON, what people must see goes beside it.
fn tell(cx: &Context, text: &str) -> Result<(), CliError> {
    if cx.out.json {
        super::output::say(text);
        return Ok(());
    }
    cx.out.line(text)
}
