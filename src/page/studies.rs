//! What takes seconds and is made when somebody asks for it: which fan, and when to start.

use super::fragments::{size, svg};
use super::refusal::Refusal;
use super::shop::{Shop, Weather};
use super::typed::{Asked, Width};
use crate::integrate::Options;
use crate::output::chart::Format;
use crate::output::screen::Screen;
use crate::output::{season as season_output, size_fan as fan_output};
use crate::study::band::Sampling;
use crate::study::compare::{Candidate, own};
use crate::study::season::kept::Nothing;
use crate::study::season::{Moments, Season, Share, Years, season as run_season};
use crate::study::size_fan::size_fan;
use maud::{Markup, html};
use serde_json::{Value, json};
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

const fn screen(width: Width, shop: &Shop) -> Screen {
    Screen {
        width: match width {
            Width::Wide => 96,
            Width::Narrow => Screen::NARROWEST,
        },
        system: shop.system,
    }
}

fn told(asked: &Asked, verdict: &str, picture: &Markup, text: &str) -> Value {
    let html = html! {
        figure .plot { (picture) }
        pre .printout tabindex="0" { (text) }
    };
    json!({ "n": asked.n, "verdict": verdict, "html": { "study": html.into_string() } })
}

/// Which fan is enough for the run as it is now.
///
/// # Errors
/// As a look; also what `size-fan` refuses.
pub fn fan(shop: &Shop, asked: &Asked) -> Result<Value, Refusal> {
    let looked = shop.look(&asked.values)?;
    let (run, inputs) = (&looked.loaded.run, &looked.loaded.inputs);
    let fans = shop.original.catalogue().fans()?;
    let sizing = size_fan(
        inputs,
        &fans,
        Some(Sampling::default()),
        &Options::default(),
    )?;
    let text = fan_output::text(run, &sizing, screen(asked.width, shop));
    let picture = fan_output::draw(run, &sizing, Format::Svg, size(asked.width), shop.system)?;
    let verdict = super::fragments::word_of(sizing.verdict());
    Ok(told(asked, verdict, &svg(picture), &text))
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
    let screen = screen(asked.width, shop);
    if seasons.len() > 1 {
        let mut years = Years::new(&candidates[0].1.name);
        for ((weather, _), season) in candidates.iter().zip(&seasons) {
            years.add(weather.map_or("", |w| &w.name), season);
        }
        let required_K = run.requirements.margin_K;
        let worst = years.counts.worst().map_or("", super::fragments::word_of);
        let text = season_output::years_text(&[years], required_K, &told_with, screen);
        return Ok(told(asked, worst, &html! {}, &text));
    }
    let weather = candidates[0].0;
    let titled = season_output::Titled {
        run,
        weather: weather.map_or("the run file", |w| &w.name),
        station: weather.and_then(|w| w.series.station()),
        is_typical_year,
    };
    let picture = season_output::draw(
        &seasons,
        &titled,
        Format::Svg,
        size(asked.width),
        shop.system,
    )?;
    let text = season_output::text(&seasons, &told_with, screen);
    let worst = seasons[0]
        .counts()
        .worst()
        .map_or("", super::fragments::word_of);
    Ok(told(asked, worst, &svg(picture), &text))
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
