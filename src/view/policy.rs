//! The ward's policy: what holds, what each setting means, and who changed it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::escape;
use super::origin::{Vantage, Writer};
use super::page::{Block, Line, Page, Tone};
use super::timeline::Heading;
use crate::clinical::policy::{self, Key, SECTIONS, Values};
use crate::record::ids::Seq;
use crate::record::problem::Problem;
use crate::record::time::Timestamp;

/// Name and version of the policy's JSON form.
pub const POLICY_SCHEMA: &str = "handfast.policy/2";
/// Name and version of the history's JSON form.
pub const POLICY_HISTORY_SCHEMA: &str = "handfast.policy-history/1";
/// Name and version of the JSON form of the settings' descriptions.
pub const POLICY_KEYS_SCHEMA: &str = "handfast.policy-keys/1";

/// To be shown with every policy.
pub const CAUTION: &str = "The defaults are published values or, where there is none, ours; the ward answers for its own. NEWS2's table of points, its bands and its single 3 are no policy and cannot be changed.";

/// The policy as it held at a moment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PolicyView {
    /// [`POLICY_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// Every setting, in reading order.
    pub settings: Vec<SettingLine>,
    /// What was stored and does not hold.
    pub not_in_force: Vec<NotInForceLine>,
}

/// A setting and what holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SettingLine {
    /// What it is.
    #[serde(flatten)]
    pub key: KeyLine,
    /// What holds, as TOML.
    pub value: String,
    /// It is the default's value.
    pub is_default: bool,
    /// The entry that set it; none if no entry in force did.
    pub set_by: Option<Seq>,
}

/// What is known of a setting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct KeyLine {
    /// Its name: section, dot, rest.
    pub name: &'static str,
    /// What it means.
    pub help: &'static str,
    /// What it takes.
    pub accepted: String,
    /// What holds until it is changed, as TOML.
    pub default: String,
    /// Where the default comes from.
    pub source: &'static str,
}

/// A stored setting that does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotInForceLine {
    /// The entry.
    pub seq: Seq,
    /// Its name, as stored.
    pub setting: String,
    /// Its value, as stored.
    pub value: String,
    /// Why it does not hold.
    pub why: String,
    /// The earlier entry whose value holds instead; none where the default does.
    pub instead: Option<Seq>,
    /// No setting of this name is known to this program.
    pub is_unknown: bool,
}

/// Every change of the policy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PolicyHistory {
    /// [`POLICY_HISTORY_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// The changes, oldest first.
    pub changes: Vec<PolicyChangeLine>,
}

/// One change of the policy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PolicyChangeLine {
    /// The entry.
    pub seq: Seq,
    /// When it was recorded: from then on it held.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub by: Writer,
    /// The setting, by its present name.
    pub setting: String,
    /// What was stored before, as TOML; the default if nothing was.
    pub from: String,
    /// What was stored, as TOML.
    pub to: String,
    /// Why.
    pub reason: String,
}

/// The description of every setting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PolicyKeys {
    /// [`POLICY_KEYS_SCHEMA`].
    pub schema: &'static str,
    /// Every setting, in reading order.
    pub keys: Vec<KeyLine>,
}

impl KeyLine {
    fn of(key: &Key) -> KeyLine {
        KeyLine {
            name: key.name,
            help: key.help,
            accepted: key.accepted(),
            default: key.default().literal(),
            source: key.source,
        }
    }
}

/// The policy that holds.
#[must_use]
pub fn policy_view(vantage: &Vantage<'_>) -> PolicyView {
    let held = vantage.ward.policy();
    let settings = policy::keys().map(|key| {
        let value = held.values().get(key);
        SettingLine {
            key: KeyLine::of(key),
            is_default: value == key.default(),
            value: value.literal(),
            set_by: held
                .newest(key.name)
                .filter(|_| held.values().has(key))
                .map(|change| change.seq()),
        }
    });
    let not_in_force = held.not_in_force().iter().map(|stored| NotInForceLine {
        seq: stored.seq,
        setting: stored.setting.clone(),
        value: stored.value.clone(),
        why: stored.why.clone(),
        instead: stored.instead,
        is_unknown: stored.is_unknown,
    });
    PolicyView {
        schema: POLICY_SCHEMA,
        heading: Heading::of(vantage),
        settings: settings.collect(),
        not_in_force: not_in_force.collect(),
    }
}

/// Every change, or those of one setting.
#[must_use]
pub fn policy_history(vantage: &Vantage<'_>, of: Option<&str>) -> PolicyHistory {
    // A newer program's setting has a history too, though nothing is known of it.
    let of = of.map(|name| policy::find(name).map_or(name, |key| key.name));
    let mut stored: BTreeMap<String, String> = BTreeMap::new();
    let mut changes = Vec::new();
    for held in vantage.ward.policy().changes() {
        let key = policy::find(&held.body.setting.0);
        let setting = key.map_or(held.body.setting.0.as_str(), |key| key.name);
        let default = key.map_or("not set".to_owned(), |key| key.default().literal());
        let to = held.body.value.0.clone();
        let from = stored.insert(setting.to_owned(), to.clone());
        if of.is_some_and(|of| of != setting) {
            continue;
        }
        changes.push(PolicyChangeLine {
            seq: held.seq(),
            recorded_at: held.stamp.recorded_at,
            by: Writer::of_author(vantage.ward, &held.stamp.author),
            setting: setting.to_owned(),
            from: from.unwrap_or(default),
            to,
            reason: held.body.reason.0.clone(),
        });
    }
    PolicyHistory {
        schema: POLICY_HISTORY_SCHEMA,
        heading: Heading::of(vantage),
        changes,
    }
}

/// What each setting is.
#[must_use]
pub fn policy_keys() -> PolicyKeys {
    PolicyKeys {
        schema: POLICY_KEYS_SCHEMA,
        keys: policy::keys().map(KeyLine::of).collect(),
    }
}

/// The policy as a TOML file. What was stored and does not hold stands in it as a remark.
#[must_use]
pub fn policy_toml(vantage: &Vantage<'_>) -> String {
    let held = vantage.ward.policy();
    let mut out = policy::file::write(held.values());
    for stored in held.not_in_force() {
        let (setting, value) = (
            policy::quoted(&stored.setting),
            policy::quoted(&stored.value),
        );
        let instead = in_place_of(stored.instead);
        let remark = format!(
            "{setting} = {value} ({}): {}; {instead}",
            stored.seq, stored.why
        );
        // A line end in what was stored must not end the remark.
        let remark: String = remark.chars().filter(|c| !c.is_control()).collect();
        out.push_str(&format!(
            "\n# NOT IN FORCE: {}\n",
            escape::terminal(&remark)
        ));
    }
    out
}

/// The same of a policy that no ward has changed.
#[must_use]
pub fn published_toml() -> String {
    policy::file::write(&Values::default())
}

/// What to say of a name that is no setting; `None` if it is one.
#[must_use]
pub fn no_such_setting(name: &str) -> Option<Problem> {
    policy::named(name).err()
}

/// What holds in the place of a stored value.
fn in_place_of(instead: Option<Seq>) -> String {
    instead.map_or_else(
        || "the default holds".to_owned(),
        |seq| format!("what {seq} set before it holds"),
    )
}

impl PolicyView {
    /// Only the settings of a section, or the one of this name; `None` if there is none.
    #[must_use]
    pub fn only(mut self, name: &str) -> Option<PolicyView> {
        let name = policy::find(name).map_or(name, |key| key.name);
        let within = |line: &SettingLine| {
            let rest = line.key.name.strip_prefix(name);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        self.settings.retain(within);
        (!self.settings.is_empty()).then_some(self)
    }

    /// The policy in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let own = self.settings.iter().filter(|line| !line.is_default).count();
        let title = format!(
            "Policy: {} settings, {own} of the ward's own",
            self.settings.len()
        );
        let mut page = self.heading.page(title);
        if !self.not_in_force.is_empty() {
            page.blocks
                .push(Block::Heading("Stored, and not in force".to_owned()));
            let lines = self.not_in_force.iter().map(|line| {
                Line::new()
                    .warn("NOT IN FORCE")
                    .strong(format!("{} = {}", line.setting, line.value))
                    .plain(format!("{}; {}.", line.why, in_place_of(line.instead)))
                    .quiet(line.seq.to_string())
            });
            page.blocks.push(Block::Lines(lines.collect()));
        }
        for section in SECTIONS {
            let of_section = self
                .settings
                .iter()
                .filter(|line| line.key.name.split('.').next() == Some(section.name));
            let lines: Vec<Line> = of_section.map(SettingLine::line).collect();
            if !lines.is_empty() {
                page.blocks.push(Block::Heading(section.about.to_owned()));
                page.blocks.push(Block::Lines(lines));
            }
        }
        page.foot.push(CAUTION.to_owned());
        page
    }
}

impl SettingLine {
    fn line(&self) -> Line {
        let line = Line::new().strong(format!("{} = {}", self.key.name, self.value));
        match self.set_by {
            Some(seq) if !self.is_default => line
                .with(Tone::Human, format!("the ward's own ({seq});"))
                .quiet(format!("default {}", self.key.default)),
            Some(seq) => line.with(
                Tone::Human,
                format!("set by the ward to the default ({seq})"),
            ),
            None => line.quiet("default"),
        }
    }
}

impl PolicyHistory {
    /// The history in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let dial = self.heading.dial();
        let mut page = self
            .heading
            .page(format!("Policy: {} changes", self.changes.len()));
        let lines = self.changes.iter().map(|change| {
            Line::new()
                .plain(dial.at(change.recorded_at))
                .strong(&change.setting)
                .plain(format!("from {} to", change.from))
                .strong(&change.to)
                .with(Tone::Human, format!("{}: {}", change.by, change.reason))
                .quiet(change.seq.to_string())
        });
        page.blocks.push(Block::Lines(lines.collect()));
        page.foot.push(CAUTION.to_owned());
        page
    }
}

impl PolicyKeys {
    /// The descriptions in words.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        for key in &self.keys {
            out.push_str(&format!(
                "{}\n  {}\n  Takes {}.\n  Default {}: {}.\n",
                key.name, key.help, key.accepted, key.default, key.source
            ));
        }
        out.push_str(CAUTION);
        out
    }

    /// The descriptions as `docs/policy.md` has them: a table a section.
    #[must_use]
    pub fn markdown(&self) -> String {
        let cell = |text: &str| text.replace('|', "\\|");
        let mut out = String::new();
        for section in SECTIONS {
            out.push_str(&format!(
                "\n## `{}`\n\n{}.\n\n| setting | meaning | takes | default | source of the default |\n| --- | --- | --- | --- | --- |\n",
                section.name, section.about
            ));
            let of_section = self
                .keys
                .iter()
                .filter(|key| key.name.split('.').next() == Some(section.name));
            for key in of_section {
                out.push_str(&format!(
                    "| `{}` | {} | {} | `{}` | {} |\n",
                    key.name,
                    cell(key.help),
                    cell(&key.accepted),
                    cell(&key.default),
                    cell(key.source)
                ));
            }
        }
        out
    }
}
