//! The plan of an instrument: a specification in words, and what follows from it.
use crate::error::Refused;
use crate::page::html::plan_page;
use crate::page::state::PageState;
use crate::planning::{self, SpecFile};
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{Form, Query, State};
use axum::response::{Html, IntoResponse, Response};
use making::schedule::{InstrumentPlan, Specification};
use serde::Deserialize;

/// What the page shows.
#[derive(Debug, Clone)]
pub struct PlanView {
    /// The specification as text.
    pub text: String,
    /// What follows from it; nothing before it was asked.
    pub made: Option<Result<Planned, Refused>>,
}

/// A plan that could be made.
#[derive(Debug, Clone)]
pub struct Planned {
    /// What it was made from.
    pub specification: Specification,
    /// The plan.
    pub plan: InstrumentPlan,
    /// What better sizes cost, if they were asked for.
    pub traded: Vec<String>,
}

/// What the form sends.
#[derive(Debug, Deserialize)]
pub(in crate::page) struct PlanForm {
    spec: String,
    #[serde(default)]
    to_do: String,
}

/// Longest specification that is read: a hundred listed sizes are some 5 kB.
const MOST_BYTES: usize = 100_000;

/// The specification, where it stands in the address: a plan to keep as a bookmark, or to print.
#[derive(Debug, Deserialize)]
pub(in crate::page) struct PlanQuery {
    spec: Option<String>,
}

/// The page with a first specification: what most would order, to be changed; or what follows from the one that is asked for.
pub(in crate::page) async fn page(
    state: State<PageState>,
    query: Result<Query<PlanQuery>, QueryRejection>,
) -> Response {
    if let Some(spec) = query.ok().and_then(|Query(query)| query.spec) {
        return planned(state, Ok(Form(PlanForm { spec, to_do: String::new() }))).await;
    }
    let text = planning::first("marimba", "C3", "C7", 442.0, "Honduras rosewood");
    let view = text.map(|text| PlanView { text, made: None });
    match view {
        Ok(view) => Html(plan_page(&view).into_string()).into_response(),
        Err(refused) => crate::page::routes::refusal_page(&refused),
    }
}

/// What follows from a specification.
pub(in crate::page) async fn planned(
    State(state): State<PageState>,
    form: Result<Form<PlanForm>, FormRejection>,
) -> Response {
    let Ok(Form(PlanForm { spec, to_do })) = form else {
        let hint = "write the specification, or begin anew";
        return crate::page::routes::refusal_page(&Refused::new("no_specification", "nothing was sent", hint));
    };
    let text = spec.replace("\r\n", "\n");
    let asked = text.clone();
    let made = state.with_desk(move |state| made(state, &asked, to_do == "better")).await;
    let view = match made {
        Ok((planned, text)) => PlanView { text, made: Some(Ok(planned)) },
        Err(refused) => PlanView { text, made: Some(Err(refused)) },
    };
    Html(plan_page(&view).into_string()).into_response()
}

fn made(state: &PageState, text: &str, better: bool) -> Result<(Planned, String), Refused> {
    if text.len() > MOST_BYTES {
        let message = format!("the specification has {} bytes; at most {MOST_BYTES} are read", text.len());
        return Err(Refused::new("too_long", message, "a hundred listed sizes are some 5000 bytes"));
    }
    let specification = SpecFile::read(text)?.specification()?;
    if better {
        let bettered = planning::better_sizes(&specification, &|_| ())?;
        let text = planning::with_sizes(text, &bettered.specification)?;
        let planned = Planned { specification: bettered.specification, plan: bettered.after, traded: bettered.traded };
        state.keep_plan(&planned.specification, &planned.plan);
        return Ok((planned, text));
    }
    let before = state.kept_plan();
    let before = before.as_ref().map(|(specification, plan)| (specification, plan));
    let plan = planning::planned(&specification, before)?;
    state.keep_plan(&specification, &plan);
    Ok((Planned { specification, plan, traded: Vec::new() }, text.to_owned()))
}
