//! The stories, one file each. Every file adds its scenes in its own order; the script sorts.

mod adebanjo_marsh;
mod arrivals;
mod brambley;
mod fenwater;
mod greenhallow;
mod hazelrigge;
mod merridew_stane;
mod mistlewood;
mod opening;
mod otterfold;
mod pell;
mod quorndale;
mod rahimi_thorne;
mod shifts;
mod skelbrack;
mod tarnsby;
mod velkova;
mod wickenhall;

use super::script::Script;

/// Tells every story.
pub fn tell(script: &mut Script) {
    opening::tell(script);
    shifts::tell(script);
    brambley::tell(script);
    pell::tell(script);
    wickenhall::tell(script);
    velkova::tell(script);
    tarnsby::tell(script);
    hazelrigge::tell(script);
    mistlewood::tell(script);
    quorndale::tell(script);
    adebanjo_marsh::tell(script);
    rahimi_thorne::tell(script);
    otterfold::tell(script);
    skelbrack::tell(script);
    fenwater::tell(script);
    greenhallow::tell(script);
    merridew_stane::tell(script);
    arrivals::tell(script);
}
