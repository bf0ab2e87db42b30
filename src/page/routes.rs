//! Which path answers what.

use super::assets;
use super::guard::{self, Guard};
use super::look::{band, look};
use super::refusal::{Refusal, Why};
use super::save::save;
use super::sheet;
use super::shop::Shop;
use super::studies::{Done, fan, report, season};
use super::typed::{Asked, Values};
use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Path, Query, Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use tokio::sync::Mutex;
use tokio::task::spawn_blocking;

/// Most bytes of a question: some dozens of values are a few hundred.
const MOST_BYTES: usize = 64 * 1_024;

/// What all answers are made from.
#[derive(Debug)]
pub struct Server {
    /// The run.
    pub shop: Shop,
    /// Who may ask.
    pub guard: Guard,
    /// One study of seconds at a time: two would only take twice as long. Whoever goes away while waiting is not
    /// waited for.
    studying: Mutex<()>,
    done: Done,
}

impl Server {
    /// Nothing asked yet.
    pub fn new(shop: Shop, guard: Guard) -> Self {
        Self {
            shop,
            guard,
            studying: Mutex::new(()),
            done: Done::default(),
        }
    }
}

type Shared = State<Arc<Server>>;

/// All paths.
pub fn router(server: Arc<Server>) -> Router {
    Router::new()
        .route("/{token}/", get(page))
        .route("/{token}/a/{folder}/{name}", get(asset))
        .route("/{token}/api/look", post(ask_look))
        .route("/{token}/api/band", post(ask_band))
        .route("/{token}/api/fan", post(ask_fan))
        .route("/{token}/api/season", post(ask_season))
        .route("/{token}/api/progress", get(progress))
        .route("/{token}/api/save", post(ask_save))
        .route("/{token}/api/report", get(show_report).post(ask_report))
        .fallback(nothing)
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(from_fn_with_state(Arc::clone(&server), guarded))
        .with_state(server)
}

/// Lets in whoever may, and gives every answer its headers.
async fn guarded(State(server): Shared, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let mut response = match server
        .guard
        .admits(path, request.headers(), request.method())
    {
        Ok(()) => next.run(request).await,
        Err(denied @ guard::Denied::Token) => {
            (StatusCode::NOT_FOUND, denied.to_string()).into_response()
        }
        Err(denied) => (StatusCode::FORBIDDEN, denied.to_string()).into_response(),
    };
    guard::headers(response.headers_mut());
    response
}

async fn nothing() -> Response {
    (StatusCode::NOT_FOUND, "nothing is here").into_response()
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let status = match self.why {
            Why::Unreadable => StatusCode::BAD_REQUEST,
            Why::Values => StatusCode::UNPROCESSABLE_ENTITY,
            Why::Exists => StatusCode::CONFLICT,
            Why::Failed => StatusCode::INTERNAL_SERVER_ERROR,
        };
        answered(status, &json!({ "error": { "message": self.message } }))
    }
}

fn answered(status: StatusCode, body: &Value) -> Response {
    let json = [(header::CONTENT_TYPE, "application/json")];
    (status, json, body.to_string()).into_response()
}

/// Reads a question.
fn read(body: &[u8]) -> Result<Asked, Refusal> {
    // A list would be taken for a question's parts in their order.
    let parts: Map<String, Value> = serde_json::from_slice(body).map_err(|e| unread(&e))?;
    serde_json::from_value(Value::Object(parts)).map_err(|e| unread(&e))
}

fn unread(e: &serde_json::Error) -> Refusal {
    Refusal::unreadable(format!("the question can't be read: {e}"))
}

/// Reads a question, and answers it on a thread that may take its time.
async fn ask(
    server: Arc<Server>,
    body: Bytes,
    answer: impl FnOnce(&Server, &Asked) -> Result<Value, Refusal> + Send + 'static,
) -> Response {
    let asked = match read(&body) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    if asked.moment_h.is_some_and(|h| !h.is_finite()) {
        return Refusal::unreadable("the moment is no number").into_response();
    }
    match spawn_blocking(move || answer(&server, &asked)).await {
        Ok(Ok(value)) => answered(StatusCode::OK, &value),
        Ok(Err(refusal)) => refusal.into_response(),
        Err(_) => Refusal::new(Why::Failed, "this could not be worked out: the program's own fault; please report it with the run file")
            .into_response(),
    }
}

async fn ask_look(State(server): Shared, body: Bytes) -> Response {
    ask(server, body, |server, asked| look(&server.shop, asked)).await
}

async fn ask_band(State(server): Shared, body: Bytes) -> Response {
    ask(server, body, |server, asked| band(&server.shop, asked)).await
}

async fn ask_fan(State(server): Shared, body: Bytes) -> Response {
    let _alone = server.studying.lock().await;
    server.done.total.store(0, Ordering::Relaxed);
    ask(Arc::clone(&server), body, |server, asked| {
        fan(&server.shop, asked)
    })
    .await
}

async fn ask_season(State(server): Shared, body: Bytes) -> Response {
    let _alone = server.studying.lock().await;
    ask(Arc::clone(&server), body, |server, asked| {
        season(&server.shop, asked, &server.done)
    })
    .await
}

async fn ask_save(State(server): Shared, body: Bytes) -> Response {
    ask(server, body, |server, asked| save(&server.shop, asked)).await
}

async fn progress(State(server): Shared) -> Response {
    let [done, total] = [&server.done.done, &server.done.total].map(|n| n.load(Ordering::Relaxed));
    answered(StatusCode::OK, &json!({ "done": done, "total": total }))
}

async fn page(State(server): Shared) -> Response {
    let made = spawn_blocking(move || {
        let first = server
            .shop
            .look(&Values::new())
            .map_err(|refusal| refusal.message);
        sheet::page(&server.shop, first.as_deref().map_err(Clone::clone)).into_string()
    });
    match made.await {
        Ok(html) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response(),
        Err(_) => Refusal::new(Why::Failed, "the page could not be made").into_response(),
    }
}

async fn asset(Path((_, folder, name)): Path<(String, String, String)>) -> Response {
    let Some(asset) = assets::find(&folder, &name) else {
        return nothing().await;
    };
    let mut response = asset.bytes.into_response();
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_TYPE,
        HeaderValue::from_static(asset.content_type),
    );
    let kept = HeaderValue::from_static("private, max-age=31536000, immutable");
    headers.insert(header::CACHE_CONTROL, kept);
    response
}

/// What a report may load: its own style and letters, which its own policy names by their hash, too.
const REPORT_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; base-uri 'none'; \
    form-action 'none'; frame-ancestors 'none'";

#[derive(Debug, Deserialize)]
struct ReportOf {
    /// A question, as JSON.
    ask: Option<String>,
}

async fn show_report(State(server): Shared, Query(of): Query<ReportOf>) -> Response {
    let asked = of.ask.unwrap_or_else(|| "{}".to_owned());
    report_of(server, asked.as_bytes()).await
}

async fn ask_report(State(server): Shared, body: Bytes) -> Response {
    report_of(server, &body).await
}

async fn report_of(server: Arc<Server>, asked: &[u8]) -> Response {
    let asked = match read(asked) {
        Ok(asked) => asked,
        Err(refusal) => return refusal.into_response(),
    };
    let _alone = server.studying.lock().await;
    let shared = Arc::clone(&server);
    match spawn_blocking(move || report(&shared.shop, &asked.values)).await {
        Ok(Ok(html)) => {
            let headers = [
                (header::CONTENT_TYPE, "text/html; charset=utf-8"),
                (header::CONTENT_SECURITY_POLICY, REPORT_POLICY),
            ];
            (headers, html).into_response()
        }
        // It is read by a person, in a window of its own.
        Ok(Err(refusal)) => {
            let text = format!("There is no report for these settings: {}", refusal.message);
            (StatusCode::UNPROCESSABLE_ENTITY, text).into_response()
        }
        Err(_) => Refusal::new(Why::Failed, "the report could not be made").into_response(),
    }
}
