//! What people read, drawn from the demo ward's story and from random journals.

mod baseline;
mod demo_kidney;
mod demo_ward;
mod hostile;
mod identity;
mod json_doc;
mod looks;
mod material;
mod nothing_falls_off;
mod oxygen;
mod policy_doc;
mod report;
mod report_sql;
mod scale;
mod similar_names;
mod small_ward;
mod snapshots;
mod unseen_results;
