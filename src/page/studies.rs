//! What takes seconds and is made when somebody asks for it: which fan, and when to start.

use super::changes::changes;
use super::fragments::{study, word_of};
use super::refusal::{Refusal, Why};
use super::shop::{Shop, Weather};
use super::typed::{Asked, Values};
use crate::integrate::Options;
use crate::output::season as season_output;
use crate::output::sheet::frame::{Content, Origin, Source, page, sources_of};
use crate::output::sheet::{check as check_sheet, season as season_sheet, size_fan as fan_sheet};
use crate::runfile::DEMO_WEATHER;
use crate::runfile::edit::Change;
use crate::study::Verdict;
use crate::study::band::Sampling;
use crate::study::compare::{Candidate, own};
use crate::study::remedies::{add_chances, remedies};
use crate::study::season::kept::Nothing;
use crate::study::season::{Moments, Season, Share, Years, season as run_season};
use crate::study::size_fan::size_fan;
use serde_json::{Value, json};
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Time between starts of a season, s.
const EVERY_S: f64 = 3_600.0;

/// How far a study has come.
#[derive(Debug, Default)]
pub struct Done {
    /// What is done.
    pub done: AtomicUsize,
    /// Of how much; 0 where nobody knows.
    pub total: AtomicUsize,
}

fn told(asked: &Asked, verdict: Option<Verdict>, content: &Content) -> Value {
    json!({
        "n": asked.n,
        "verdict": verdict.map(word_of),
        "html": { "study": study(content).into_string() },
    })
}

/// Which fan is enough for the run as it is now.
///
/// # Errors
/// As a look; also what `size-fan` refuses.
pub fn fan(shop: &Shop, asked: &Asked) -> Result<Value, Refusal> {
    let looked = shop.look(&asked.values)?;
    let inputs = &looked.loaded.inputs;
    let fans = shop.original.catalogue().fans()?;
    let sizing = size_fan(
        inputs,
        &fans,
        Some(Sampling::default()),
        &Options::default(),
    )?;
    let content = fan_sheet::content(&looked.loaded, &sizing, shop.system)?;
    Ok(told(asked, Some(sizing.verdict()), &content))
}

/// When the run as it is now is safe to start, at every hour of the weather.
///
/// # Errors
/// As a look; also where there is no weather that lasts.
pub fn season(shop: &Shop, asked: &Asked, done: &Done) -> Result<Value, Refusal> {
    let looked = shop.look(&asked.values)?;
    let run = &looked.loaded.run;
    let own = own(run, &looked.loaded.inputs);
    let candidates: Vec<(Option<&Weather>, Candidate)> = if shop.weather.is_empty() {
        vec![(None, own)]
    } else {
        let in_weather = |weather: &'_ Weather| {
            let mut candidate = own.clone();
            candidate.inputs.take_series(&weather.series);
            candidate
        };
        let each = shop.weather.iter();
        each.map(|weather| (Some(weather), in_weather(weather)))
            .collect()
    };
    let moments = candidates
        .iter()
        .map(|(_, candidate)| moments(candidate))
        .collect::<Result<Vec<_>, _>>()?;
    done.done.store(0, Ordering::Relaxed);
    let total = moments.iter().map(|m| m.count).sum();
    done.total.store(total, Ordering::Relaxed);
    let count = |more| {
        done.done.fetch_add(more, Ordering::Relaxed);
    };
    let mut seasons: Vec<Season> = Vec::new();
    for ((_, candidate), moments) in candidates.iter().zip(&moments) {
        let options = Options::default();
        seasons.push(run_season(
            candidate,
            moments,
            Share::Allowed,
            &options,
            &Nothing,
            &count,
        )?);
    }
    let is_typical_year = candidates[0].1.inputs.has_typical_year();
    let told_with = season_output::Told {
        run,
        from: None,
        is_typical_year,
        extraction: None,
        verbose: false,
    };
    if seasons.len() > 1 {
        let mut years = Years::new(&candidates[0].1.name);
        for ((weather, _), season) in candidates.iter().zip(&seasons) {
            years.add(weather.map_or("", |w| &w.name), season);
        }
        let worst = years.counts.worst();
        let required_K = run.requirements.margin_K;
        let content = season_sheet::years(&looked.loaded, &[years], required_K, shop.system)?;
        return Ok(told(asked, worst, &content));
    }
    let weather = candidates[0].0;
    let titled = season_output::Titled {
        run,
        weather: weather.map_or("the run file", |w| &w.name),
        station: weather.and_then(|w| w.series.station()),
        is_typical_year,
    };
    let content =
        season_sheet::content(&looked.loaded, &seasons, &titled, &told_with, shop.system)?;
    Ok(told(asked, seasons[0].counts().worst(), &content))
}

/// The report of the run as it is now, a page of its own.
///
/// # Errors
/// As a look; also where the report can't be made.
pub fn report(shop: &Shop, values: &Values) -> Result<String, Refusal> {
    let looked = shop.band(values)?;
    let loaded = &looked.loaded;
    let found = if looked.findings.outcome.verdict == Verdict::Holds {
        None
    } else {
        let materials = shop.original.catalogue().materials();
        let mut found = remedies(&loaded.inputs, &materials, &Options::default())?;
        add_chances(&mut found, &loaded.inputs, Sampling::default());
        Some(found)
    };
    let content = check_sheet::content(loaded, &looked.findings, found.as_ref(), shop.system)?;
    let changes = changes(values, shop.original.loaded(), shop.system)?;
    let set = changes.into_iter().map(|change| match change {
        Change::Set(key, text) => (key, text),
        Change::Drop(key) => (key, "left away".to_owned()),
    });
    let origin = Origin {
        command: format!("dogdays page {}", shop.original.name()),
        set: set.collect(),
        sources: sources(shop)?,
        made_at: Some((shop.now)()),
    };
    Ok(page(&content, &origin))
}

/// What the run is read from: the run file as it was read, the others as they are.
fn sources(shop: &Shop) -> Result<Vec<Source>, Refusal> {
    let run_file = Source::new(shop.original.name(), shop.original.text().as_bytes());
    let Some(folder) = shop.original.folder() else {
        let weather = Source::new("its weather", DEMO_WEATHER.as_bytes());
        return Ok(vec![weather, run_file]);
    };
    let own = folder.join(
        Path::new(shop.original.name())
            .file_name()
            .unwrap_or_default(),
    );
    let mut files = shop.original.loaded().files.clone();
    files.retain(|file| *file != own && *file != Path::new(shop.original.name()));
    files.dedup();
    let mut all = sources_of(&files)
        .map_err(|e| Refusal::new(Why::Failed, format!("the inputs can't be read again: {e}")))?;
    all.push(run_file);
    Ok(all)
}

fn moments(candidate: &Candidate) -> Result<Moments, Refusal> {
    let moments = Moments::of(&candidate.inputs, EVERY_S).ok_or_else(|| {
        Refusal::values(
            "this run's weather is no series: end the program and start it with the season's, dogdays page RUN --weather FILE",
        )
    })?;
    if moments.count == 0 {
        return Err(Refusal::values(
            "the job takes longer than the weather lasts, so that no start is possible: end the program and start it with a longer series, dogdays page RUN --weather FILE",
        ));
    }
    Ok(moments)
}
