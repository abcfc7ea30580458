//! The story is told to a sink that reads every draft as the station would (`listener`), then
//! checked as a whole (`whole`), story by story (`facts`) and as the ward it draws (`drawn`).

mod built;
mod drawn;
mod facts;
mod listener;
mod whole;
