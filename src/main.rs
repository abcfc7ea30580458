//! The `handfast` program. Until the command line stands it knows `shell` alone, with its
//! settings in the environment variables that the command line will read as well.

use std::process::ExitCode;
use std::time::Duration;

use handfast::shell::{IDLE_AFTER, ShellEnd, ShellRequest, run};
use zeroize::Zeroizing;

fn main() -> ExitCode {
    match request() {
        Err(message) => end(2, &message),
        Ok(request) => match run(&request) {
            Ok(ShellEnd::Done) => ExitCode::SUCCESS,
            Ok(ShellEnd::Refused(lines)) => end(1, &format!("{lines} line(s) were not taken")),
            Err(error) => end(1, &error.to_string()),
        },
    }
}

fn request() -> Result<ShellRequest, String> {
    if std::env::args().nth(1).as_deref() != Some("shell") {
        return Err("say handfast shell".to_owned());
    }
    let journal = std::env::var_os("HANDFAST_JOURNAL").ok_or("set HANDFAST_JOURNAL")?;
    let seconds = std::env::var("HANDFAST_IDLE_SECONDS").ok();
    let seconds = seconds.and_then(|text| text.parse().ok());
    Ok(ShellRequest {
        journal: journal.into(),
        handle: std::env::var("HANDFAST_USER").ok(),
        secret: secret()?,
        idle_after: seconds.map_or(IDLE_AFTER, Duration::from_secs),
    })
}

fn secret() -> Result<Option<Zeroizing<String>>, String> {
    let Some(path) = std::env::var_os("HANDFAST_PIN_FILE") else {
        return Ok(None);
    };
    let text = std::fs::read_to_string(&path).map_err(|error| error.to_string())?;
    let first = text.lines().next().unwrap_or_default();
    Ok(Some(Zeroizing::new(first.to_owned())))
}

fn end(code: u8, message: &str) -> ExitCode {
    eprintln!("handfast: {message}");
    ExitCode::from(code)
}
