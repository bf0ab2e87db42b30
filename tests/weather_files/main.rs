//! Weather files of the standard formats: whole years made here, into which the rows of the cut-outs under
//! `tests/data` are laid as they are, and whole real files where `DOGDAYS_WEATHER_DATA` names their folder
//! (`tests/data/fetch.sh` fetches them).

mod described;
mod gaps;
mod kinds;
mod made;
mod real;
mod times;
