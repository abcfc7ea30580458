//! `handfast staff`.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use serde::Serialize;

use super::context::{Context, Drawn};
use super::exit::Exit;
use super::report::CliError;
use super::secret::SecretSource;
use crate::record::kind::ward::StaffMove;
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::station::{StaffRequest, Station, keys};
use crate::view::page::Reserved;

/// Enrol, list, suspend or reinstate staff; give a new role or key; change your own PIN.
#[derive(Debug, Args)]
pub struct StaffArgs {
    #[command(subcommand)]
    what: StaffCommand,
}

#[derive(Debug, Subcommand)]
enum StaffCommand {
    /// Show everybody who is or was on the staff
    List,
    /// Enrol somebody (keeper)
    Add {
        /// Handle to sign in with
        handle: String,
        /// Full name
        #[arg(long)]
        name: String,
        /// assistant, nurse, sister, clinician, governance or keeper
        #[arg(long, value_parser = role)]
        role: Role,
        /// Professional registration number
        #[arg(long)]
        registration: Option<String>,
        #[command(flatten)]
        pin: NewPin,
    },
    /// Suspend somebody, effective at once (keeper)
    Suspend {
        /// Who
        handle: String,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Reinstate somebody (keeper)
    Reinstate {
        /// Who
        handle: String,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Give somebody another role (keeper)
    Role {
        /// Who
        handle: String,
        /// The new role
        #[arg(value_parser = role)]
        role: Role,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// Give your own key another PIN; nothing is recorded, since the key stays the same
    Pin {
        #[command(flatten)]
        pin: NewPin,
    },
    /// Give somebody a new key and PIN, after a forgotten PIN or a lost key (keeper)
    NewKey {
        /// Who
        handle: String,
        /// Why
        #[arg(long)]
        reason: String,
        #[command(flatten)]
        pin: NewPin,
    },
}

#[derive(Debug, Args)]
struct NewPin {
    /// File whose first line is the new PIN or passphrase
    #[arg(long, value_name = "FILE")]
    new_pin_file: Option<PathBuf>,
    /// Open file descriptor whose first line is the new PIN or passphrase
    #[arg(long, value_name = "N", conflicts_with = "new_pin_file")]
    new_pin_fd: Option<u32>,
}

impl NewPin {
    fn read(self, handle: &Handle) -> Result<zeroize::Zeroizing<String>, CliError> {
        let source = SecretSource {
            file: self.new_pin_file,
            fd: self.new_pin_fd,
        };
        source.read_new(&format!("New PIN for {handle}: "), "new-pin")
    }
}

fn role(text: &str) -> Result<Role, String> {
    Role::from_code(text).ok_or_else(|| {
        let codes: Vec<&str> = Role::CHOICES.iter().map(|choice| choice.code).collect();
        format!("a role is one of {}", codes.join(", "))
    })
}

/// As `--json` shows it; schema `handfast.staff/1`.
#[derive(Serialize)]
struct StaffJson {
    schema: &'static str,
    staff: Vec<MemberJson>,
}

#[derive(Serialize)]
struct MemberJson {
    handle: String,
    name: String,
    role: Role,
    registration: Option<String>,
    key: Option<String>,
    suspended: bool,
}

/// As `--json` shows it; schema `handfast.pin/1`.
#[derive(Serialize)]
struct PinJson {
    schema: &'static str,
    handle: String,
}

/// Runs one of the commands.
pub fn run(cx: &Context, args: StaffArgs) -> Result<Exit, CliError> {
    let mut station = cx.station()?;
    if matches!(args.what, StaffCommand::List) {
        return list(cx, &cx.draw_in_clear(&station)?);
    }
    let what = match args.what {
        StaffCommand::Pin { pin } => return change_pin(cx, &mut station, pin),
        other => other,
    };
    let actor = cx.actor(&mut station)?;
    let receipt = match what {
        StaffCommand::List | StaffCommand::Pin { .. } => return Ok(Exit::Done),
        StaffCommand::Add {
            handle,
            name,
            role,
            registration,
            pin,
        } => {
            let handle = parse(&handle)?;
            let secret = pin.read(&handle)?;
            let request = StaffRequest {
                handle,
                name,
                role,
                registration,
                secret,
            };
            let receipt = station.enrol(&actor, &request)?.0;
            say_what_it_opens(cx, &station, &request.handle, &request.secret)?;
            receipt
        }
        StaffCommand::Suspend { handle, reason } => station.change_staff(
            &actor,
            &parse(&handle)?,
            StaffMove::Suspended,
            None,
            &reason,
        )?,
        StaffCommand::Reinstate { handle, reason } => station.change_staff(
            &actor,
            &parse(&handle)?,
            StaffMove::Reinstated,
            None,
            &reason,
        )?,
        StaffCommand::Role {
            handle,
            role,
            reason,
        } => {
            let handle = parse(&handle)?;
            station.change_staff(&actor, &handle, StaffMove::RoleChanged, Some(role), &reason)?
        }
        StaffCommand::NewKey {
            handle,
            reason,
            pin,
        } => {
            let handle = parse(&handle)?;
            let secret = pin.read(&handle)?;
            let receipt = station.replace_key(&actor, &handle, &secret, &reason)?;
            say_what_it_opens(cx, &station, &handle, &secret)?;
            receipt
        }
    };
    super::log::show_receipt(cx, &receipt)?;
    Ok(Exit::Done)
}

/// The old PIN is asked for as whoever acts gives it everywhere, the new one twice.
fn change_pin(cx: &Context, station: &mut Station, pin: NewPin) -> Result<Exit, CliError> {
    let (handle, old) = cx.handle_and_pin()?;
    let new = pin.read(&handle)?;
    station.change_secret(&handle, &old, &new)?;
    if cx.out.json {
        cx.out.json(&PinJson {
            schema: "handfast.pin/1",
            handle: handle.to_string(),
        })?;
    } else {
        cx.out.line(&format!(
            "{handle} has a new PIN. The key is the same; copies of the old key file still open with the old PIN."
        ))?;
        say_what_it_opens(cx, station, &handle, &new)?;
    }
    Ok(Exit::Done)
}

/// Said where a secret is chosen: a PIN is not what a passphrase is.
pub(super) fn say_what_it_opens(
    cx: &Context,
    station: &Station,
    handle: &Handle,
    secret: &str,
) -> Result<(), CliError> {
    if station.is_teaching() || cx.out.json {
        return Ok(());
    }
    if let Some(staff) = station.ward().staff(handle) {
        cx.out.line(&keys::what_it_opens(secret, staff.role))?;
    }
    Ok(())
}

fn parse(text: &str) -> Result<Handle, CliError> {
    Handle::parse(text).ok_or_else(|| {
        CliError::new(Exit::Usage, format!("\"{text}\" is no handle"))
            .hint("2 to 24 lower-case letters, digits or hyphens, beginning with a letter")
    })
}

fn list(cx: &Context, drawn: &Drawn) -> Result<Exit, CliError> {
    let members: Vec<MemberJson> = drawn
        .ward
        .roster()
        .map(|staff| MemberJson {
            handle: staff.handle.to_string(),
            name: staff.name.clone(),
            role: staff.role,
            registration: staff.registration.clone(),
            key: staff.key.map(|key| key.to_string()),
            suspended: staff.is_suspended(),
        })
        .collect();
    if cx.out.json {
        let list = StaffJson {
            schema: "handfast.staff/1",
            staff: members,
        };
        cx.out.json(&Reserved::new(&list, &drawn.reservations))?;
        return Ok(Exit::of_view(&drawn.reservations));
    }
    cx.say_what_is_lacking(drawn)?;
    for member in members {
        let suspended = if member.suspended { "  SUSPENDED" } else { "" };
        cx.out.line(&format!(
            "{:<14} {:<28} {}{suspended}",
            member.handle,
            member.name,
            member.role.label()
        ))?;
    }
    Ok(Exit::of_view(&drawn.reservations))
}
