//! The story is told to a sink that reads every draft as the station would (`listener`), then
//! checked as a whole (`whole`) and story by story (`facts`).

mod facts;
mod listener;
mod whole;
