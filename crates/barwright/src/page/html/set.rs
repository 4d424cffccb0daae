//! Pages about a whole instrument: tubes, last cents, certificate, retuning.
use super::layout::{self, Place};
use super::marks;
use crate::error::{Refused, sentence};
use crate::page::drawings;
use crate::page::places::set::{CertificateView, FineView, OfSet, RetuneView};
use crate::report;
use crate::report::tubes::Answer as TubesAnswer;
use crate::report::units::{Units, cents, plain, signed};
use crate::retuning::Triage;
use crate::sheets::job::SheetKind;
use making::fine::{Class, Verdict};
use making::retune::{Work, set_drift};
use maud::{Markup, html};
use paper::sheets::{CentsAlong, CentsBar, MOST_COMPASS_BARS, cents_along};
use words::Language;

/// A page about this instrument.
fn framed(of: &OfSet, title: &str, body: &Markup) -> Markup {
    let inside = html! {
        main #main data-bench="" data-version="" data-still {
            (layout::head(&of.instrument.name, of.house.invented, "simulated bars"))
            (body)
            (sheets(&of.instrument.id))
            (ways(of))
            (layout::foot(Place::Other))
        }
    };
    layout::page(&format!("{title}: {}", of.instrument.name), &inside)
}

/// The sheets of it as PDF.
pub(super) fn sheets(instrument: &str) -> Markup {
    html! {
        section #sheets {
            h2 { "On paper" }
            nav .ways aria-label="Sheets as PDF" {
                @for kind in SheetKind::ALL {
                    a .button href={ "/api/sheet/" (kind.word()) "/" (instrument) ".pdf" } { (kind.words()) }
                }
            }
            @for language in Language::ALL.into_iter().skip(1) {
                nav .ways lang=(language.tag()) aria-label={ "PDF: " (language.own_name()) } {
                    @for kind in SheetKind::ALL {
                        a .button href={ "/api/sheet/" (kind.word()) "/" (instrument) ".pdf?language=" (language.tag()) } {
                            (words::in_language(language, || kind.words()))
                        }
                    }
                }
            }
            p .small { "PDF in A4, to be printed at 100 %. Templates, other papers, the whole book: " code { "barwright sheet --help" } }
        }
    }
}

/// The other pages about it.
fn ways(of: &OfSet) -> Markup {
    let id = &of.instrument.id;
    html! {
        nav .ways aria-label="More about this instrument" {
            a .button href={ "/tubes?instrument=" (id) } { "Tubes" }
            a .button href={ "/fine?instrument=" (id) } { "Last cents" }
            a .button href={ "/certificate?instrument=" (id) } { "Certificate" }
            a .button href={ "/retune?instrument=" (id) } { "Retuning" }
            a .button href="/climate" { "Climate" }
        }
    }
}

fn refused(what: &str, why: &Refused) -> Markup {
    html! {
        div #notice .notice .refused role="alert" {
            p { (marks::triangle()) " " strong { (what) " " } (why.message) }
            @if !why.hint.is_empty() { p { (why.hint) } }
        }
    }
}

/// What came of the last thing done.
pub(super) fn settled(outcome: Option<&Result<String, Refused>>) -> Markup {
    match outcome {
        Some(Ok(words)) => {
            html! { div #notice .notice role="status" { p { (marks::double_tick()) " Entered: " (words) "." } } }
        }
        Some(Err(why)) => refused("Nothing was entered.", why),
        None => html! {},
    }
}

/// A field of a form.
pub(super) fn field(name: &str, words: &str, value: &str) -> Markup {
    html! { label { span { (words) } input type="text" name=(name) inputmode="decimal" autocomplete="off" value=(value); } }
}

fn class_field(of: &OfSet) -> Markup {
    let chosen = of.field("class", "working");
    html! {
        label { span { "good enough for" }
            select name="class" {
                @for (word, words) in [("concert", "a concert instrument"), ("working", "a working musician"), ("school", "a school")] {
                    option value=(word) selected[word == chosen] { (words) }
                }
            }
        }
    }
}

fn instrument_field(of: &OfSet) -> Markup {
    html! { input type="hidden" name="instrument" value=(of.instrument.id); }
}

/// The tubes.
pub fn tubes_page(of: &OfSet, answer: &Result<TubesAnswer, Refused>, units: Units) -> Markup {
    framed(
        of,
        "Tubes",
        &html! {
            @match answer {
                Ok(answer) => (tubes(answer, units)),
                Err(why) => { h1 .unseen { "Tubes" } (refused("No tubes.", why)) }
            }
            section {
                h2 { "What they shall be" }
                form .pick .asked method="get" action="/tubes" {
                    (instrument_field(of))
                    (field("temperature", "stoppers set at, °C", &of.field("temperature", "")))
                    (field("humidity", "humidity, %", &of.field("humidity", "")))
                    (field("coldest", "played at least at, °C", &of.field("coldest", "16")))
                    (field("warmest", "at most at, °C", &of.field("warmest", "28")))
                    (field("under_bar", "the bar adds, inner radii", &of.field("under_bar", "0")))
                    (field("offset", "off the bar on purpose, cents", &of.field("offset", "0")))
                    (field("ends", "arched front: at the ends, mm", &of.field("ends", "")))
                    (field("middle", "in the middle, mm", &of.field("middle", "")))
                    button .button .main type="submit" { "Reckon" }
                }
                p .small { "Empty: as the order says. Diameters to buy, stock lengths and a tube you struck: " code { "barwright tubes --instrument NAME --help" } }
            }
        },
    )
}

fn tubes(answer: &TubesAnswer, units: Units) -> Markup {
    let (bank, tubes) = (&answer.bank, &answer.tubes.tubes);
    let folded = tubes.iter().filter(|tube| tube.fold.is_some()).count();
    let kg: f64 = tubes.iter().map(|tube| tube.mass_kg).sum();
    let place = |m: f64| units.place(m * 1e3);
    let travel = |[a, b]: [f64; 2]| format!("{} to {} mm", plain(a * 1e3, 1), plain(b * 1e3, 1));
    const HEAD: [&str; 7] = ["note", "inner", "stopper", "keeps its pitch", "follows the bar", "cents/mm", "cut"];
    html! {
        section #answer {
            h1 .instruction .long { (tubes.len()) " tubes, stoppers at " (plain(bank.temperature_c, 1)) " °C" }
            ul .figures {
                li { "sound " strong { (plain(answer.tubes.sound_m_s, 1)) " m/s" } }
                li { strong { (folded) } " folded" }
                li { strong { (answer.hanging.len() - tubes.len()) } " dummies" }
                li { strong { (plain(kg, 1)) " kg" } }
            }
            @for words in &answer.tubes.warnings { div .notice .refused { p { (marks::triangle()) " " (sentence(words)) } } }
            figure .drawing-card {
                (drawings::both("tubes", |sheet| report::tubes::view(answer, sheet)))
                figcaption .small { "Both banks as they hang, from the player's side." }
            }
            h2 { "Every tube" }
            p .small { "From the mouth to the stopper's face; travel from " (plain(bank.played_c[0], 0)) " to " (plain(bank.played_c[1], 0)) " °C." }
            div .scroll {
                table .stack {
                    thead { tr { @for (i, cell) in HEAD.iter().enumerate() { th .figure[i > 0] scope="col" { (cell) } } } }
                    tbody { @for tube in tubes {
                        @let cells = [place(tube.diameter_m), place(tube.stopper_m), travel(tube.keeping_m), travel(tube.following_m), plain(tube.cents_per_mm, 1), place(tube.cut_m)];
                        tr { th scope="row" { (tube.name) } @for (cell, label) in cells.iter().zip(&HEAD[1..]) { td .figure data-label=(label) { (cell) } } }
                    } }
                }
            }
            details #stock { summary { "What to cut from which stock tube" }
                @for stock in &answer.stock {
                    h3 { (place(stock.diameter_m)) " inner: " (stock.cuts.len()) " tubes of " (place(answer.stock_m)) }
                    ol { @for cut in &stock.cuts { li { (cut.pieces.iter().map(|piece| stock.names[*piece].as_str()).collect::<Vec<_>>().join(", ")) "; " (place(cut.left_m)) " left" } } }
                }
                p .small { "Sawing metal tubes: eye and ear protection, clamp the tube, no gloves at rotating tools; fresh ends are sharp. The saw's manual and local rules come first." }
            }
            details #offsets { summary { "A little off on purpose: softer and longer" }
                @for of in &answer.offsets {
                    h3 { (of.name) }
                    ul { @for o in &of.offsets { li { (plain(o.cents, 0)) " cents off: " (signed(o.early_db, 1)) " dB at first, rings " (plain(o.ring_s, 2)) " s" } } }
                }
                p .small { "Two coupled oscillators; two published rosewood bars stand in for yours (from memory)." }
            }
            @if bank.under_bar_radii.abs() < 1e-12 {
                p .small { "The bar close over the mouth flattens a tube by an amount that nobody has published: these are free tubes' lengths, some millimetres too long. Leave the stoppers movable and set them by ear under the tuned bar." }
            }
        }
    }
}

/// The last cents.
pub fn fine_page(of: &OfSet, view: &FineView) -> Markup {
    const HEAD: [&str; 6] = ["note", "mode 1", "mode 2", "mode 3", "allowed", "what to do"];
    let good = view.judged.iter().filter(|judged| judged.verdict == Verdict::Good).count();
    let all = view.judged.len();
    framed(
        of,
        "Last cents",
        &html! {
            section #answer {
                h1 .instruction .long {
                    @if good == all { (marks::double_tick()) " All " (all) " bars are good enough: stop" }
                    @else { (good) " of " (all) " bars are good enough" }
                }
                p { (sentence(&report::fine::counted(&view.judged))) }
                p .small { (report::fine::air_words(&view.set)) }
                div .scroll {
                    table .stack {
                        thead { tr { @for (i, cell) in HEAD.iter().enumerate() { th .figure[(1..5).contains(&i)] scope="col" { (cell) } } } }
                        tbody { @for (bar, judged) in view.set.bars.iter().zip(&view.judged) {
                            @let mode = |i: usize| match bar.heard.as_ref().and_then(|heard| heard.cents.get(i)) { Some(Some(c)) => cents(*c), Some(None) => "?".to_owned(), None => "–".to_owned() };
                            tr {
                                th scope="row" { a .bar-link href={ "/bench/" (bar.row.uid) } { (bar.note) } }
                                @for (i, label) in HEAD[1..4].iter().enumerate() { td .figure .none[mode(i) == "–"] data-label=(label) { (mode(i)) } }
                                td .figure data-label="allowed" { "±" (judged.tolerances.iter().map(|t| plain(*t, 0)).collect::<Vec<_>>().join("/")) }
                                td data-label="what to do" { span {
                                    @match judged.verdict { Verdict::Good => (marks::double_tick()), Verdict::Lower { .. } => (marks::hatch()), Verdict::Cool(_) => (marks::hourglass()), Verdict::Strike(_) => (marks::mallet()), Verdict::Flat(_) => (marks::triangle()), Verdict::NotYet(_) => (marks::away()) }
                                    " " (report::fine::verdict_words(&judged.verdict))
                                    @if let Some(step) = judged.step_cents { "; steps " (cents(step)) " against its neighbours" }
                                    @if let Some(why) = &judged.tomorrow { "; strike again tomorrow: " (why) }
                                } }
                            }
                        } }
                    }
                }
                p .small { "Cents at the order's air. Half of what is left, then strike again: wood does not come back. Sanding dust: extraction and a mask; muffs off only with machines stopped." }
            }
            @if let Some((sounds, even)) = &view.even {
                section #even {
                    h2 { "Is it even?" }
                    @if even.outliers.is_empty() { p { (marks::double_tick()) " No bar stands out in ring, loudness or balance." } }
                    @for outlier in &even.outliers {
                        h3 { (marks::triangle()) " " (sounds[outlier.bar].name) " " (report::fine::outlier_words(outlier)) }
                        p { "Look at, in this order:" }
                        ol { @for cause in &outlier.causes { li { (cause) } } }
                    }
                    p .small { "From each bar's last kept sound. Loudness only tells where all were recorded alike." }
                }
            }
            section {
                h2 { "Ask again" }
                form .pick .asked method="get" action="/fine" {
                    (instrument_field(of))
                    (class_field(of))
                    label .tick { input type="checkbox" name="even" checked[view.even.is_some()]; span { "hear the kept sounds: is the set even?" } }
                    button .button .main type="submit" { "Judge them" }
                }
                p .small { "Where each last stroke goes: " code { "barwright fine NAME --places" } }
            }
        },
    )
}

/// Cents along the compass: (note, cents, sigma) of each bar.
fn along(of: &OfSet, class: Class, bars: &[(String, Vec<Option<f64>>, f64)]) -> Markup {
    if bars.len() > MOST_COMPASS_BARS {
        return html! {};
    }
    let bars: Vec<CentsBar> = bars
        .iter()
        .map(|(name, cents, sigma_cents)| CentsBar {
            name: name.clone(),
            cents: std::array::from_fn(|i| cents.get(i).copied().flatten()),
            sigma_cents: *sigma_cents,
        })
        .collect();
    // One band for all: that of the middle of the compass.
    let tolerance_cents = [1, 2, 3].map(|mode| class.tolerance_cents(440.0, mode));
    let name = &of.instrument.name;
    html! {
        figure .drawing-card {
            (drawings::both("cents", |sheet| cents_along(&CentsAlong { name: name.clone(), bars: bars.clone(), tolerance_cents, sheet })))
        }
    }
}

/// The certificate.
pub fn certificate_page(of: &OfSet, view: &CertificateView) -> Markup {
    framed(
        of,
        "Certificate",
        &html! {
            (settled(view.settled.as_ref()))
            @match &view.last {
                Some(sealed) => (certificate(of, sealed)),
                None => { h1 .instruction .long { "No certificate yet" } }
            }
            section #give {
                h2 { @if view.last.is_some() { "A new certificate" } @else { "Give it" } }
                @match &view.now {
                    Ok((good, all)) => {
                        p { strong { (good) " of " (all) } " bars are good enough now. What is outside is named on it." }
                        form .pick .asked method="post" action="/certificate" data-words="Sealing…" {
                            (instrument_field(of))
                            (class_field(of))
                            label { span { "tuned by" } input type="text" name="by" autocomplete="off" value=(of.field("by", "")); }
                            (field("next_visit", "next visit in, years", &of.field("next_visit", "2")))
                            label .tick { input type="checkbox" name="final" required; span { "the readings are final" } }
                            button .button .main type="submit" { "Give the certificate" }
                        }
                    },
                    Err(why) => (refused("It cannot be given yet.", why)),
                }
                p #progress .progress role="status" aria-live="polite" {}
            }
        },
    )
}

fn certificate(of: &OfSet, sealed: &crate::certified::Sealed) -> Markup {
    const HEAD: [&str; 6] = ["note", "mode 1", "mode 2", "mode 3", "±", "heard"];
    let certificate = &sealed.certificate;
    let outside = report::certificate::outside(certificate);
    html! {
        article #certificate {
            h1 .instruction .long { "Tuning certificate" }
            p .then { strong { (certificate.instrument) } @if let Some(customer) = &certificate.customer { " for " (customer) } }
            ul .figures {
                li { "A4 = " strong { (plain(certificate.a4_hz, 2)) " Hz" } " at " (report::certificate::air_words(certificate)) }
                li { (certificate.workshop) ", " strong { (certificate.date) } @if let Some(by) = &certificate.tuned_by { ", tuned by " (by) } }
                li { "next visit " strong { (certificate.next_visit) } }
            }
            p {
                @if outside.is_empty() { (marks::double_tick()) " All " (certificate.bars.len()) " bars are within " (certificate.class) " class." }
                @else { (marks::triangle()) " " (outside.len()) " of " (certificate.bars.len()) " bars are outside " (certificate.class) " class: " (outside.join(", ")) "." }
            }
            (along(of, certificate.class(), &certificate.bars.iter().map(|bar| (bar.note.clone(), bar.cents.iter().copied().map(Some).collect(), bar.sigma_cents)).collect::<Vec<_>>()))
            p .small { "Cents above target; modes 1, 2, 3: ×" (report::certificate::ratios(certificate)) "." }
            div .scroll {
                table .stack {
                    thead { tr { @for (i, cell) in HEAD.iter().enumerate() { th .figure[i > 0] scope="col" { (cell) } } } }
                    tbody { @for bar in &certificate.bars {
                        @let mode = |i: usize| bar.cents.get(i).map_or_else(|| "–".to_owned(), |c| cents(*c));
                        tr {
                            th scope="row" { (bar.note) }
                            @for (i, label) in HEAD[1..4].iter().enumerate() { td .figure .none[mode(i) == "–"] data-label=(label) { (mode(i)) } }
                            td .figure data-label="±" { (plain(bar.sigma_cents, 1)) }
                            td .figure data-label="heard" { (bar.heard) }
                        }
                    } }
                }
            }
            p { (report::certificate::method_words(certificate)) }
            h2 { "For its owner" }
            ul { @for line in report::certificate::advice() { li { (line) } } }
            h2 { "The seal" }
            @for line in report::certificate::seal_words(sealed).lines() { p .small .seal { (line) } }
            p .small { "A copy of the file can be held against it: " code { "barwright certificate verify certificate.json" } }
            p { a .button href={ "/api/certificate/" (of.instrument.id) ".json" } download="certificate.json" { "The file for the customer" } }
        }
    }
}

/// A retuning.
pub fn retune_page(of: &OfSet, view: &RetuneView, units: Units) -> Markup {
    let back = &view.back;
    let usual = plain(back.set.order.a4_hz, 2);
    framed(
        of,
        "Retuning",
        &html! {
            section #answer {
                @match &view.triages {
                    Ok(triages) => (triaged(view, triages, units)),
                    Err(why) => { h1 .unseen { "Retuning" } (refused("No answer.", why)) }
                }
            }
            section {
                h2 { "Ask again" }
                form .pick .asked method="get" action="/retune" data-words="Reckoning…" {
                    (instrument_field(of))
                    label { span { "A4 wanted now, Hz; several: 440 442" } input type="text" name="a4" autocomplete="off" value=(of.field("a4", &usual)); }
                    (class_field(of))
                    button .button .main type="submit" { "What does each bar need?" }
                }
                p .small { "A crack or a worn top that you saw: " code { "barwright bar F#4 remark \"damage: crack at the hole\"" } }
            }
        },
    )
}

fn triaged(view: &RetuneView, triages: &[Triage], units: Units) -> Markup {
    let back = &view.back;
    let (heard, all) = (back.heard(), back.set.bars.len());
    let least = triages.iter().min_by(|a, b| a.minutes.total_cmp(&b.minutes));
    html! {
        h1 .instruction .long {
            @if heard < all { (marks::mallet()) " Strike every bar first: " (heard) " of " (all) " heard" }
            @else if let Some(triage) = least { (sentence(&report::retune::counted(triage)).trim_end_matches('.')) }
            @else { "No pitch was asked about" }
        }
        p {
            @match &back.certificate {
                Some(certificate) => { "Certified on " (certificate.date) " at A4 = " (plain(certificate.a4_hz, 2)) " Hz." },
                None => "No certificate in the record: each bar is held against its target.",
            }
            @if let Some(since) = back.since { " Readings since " (report::record::when(since)) " count." }
        }
        ul .figures {
            @for triage in triages {
                li { "A4 = " strong { (plain(triage.a4_hz, 2)) " Hz" } ": " (report::retune::counted(triage)) "; some " strong { (plain(triage.minutes / 60.0, 1)) " hours" } " (guesses)" }
            }
            @if let Some(drift) = least.and_then(|triage| set_drift(&triage.bars)) {
                li { "the set went " strong { (cents(drift.median_cents)) " cents" } ", half its bars within " (plain(drift.half_within_cents, 1)) }
            }
        }
        @if let Some(bar) = back.next_to_strike() { p { a .button .main href={ "/bench/" (bar.row.uid) } { "Strike " (bar.note) " next" } } }
        @if let Some(triage) = least { (retune_table(view, triage, units)) }
        p .small { "In this order: put away what must dry; look at what is hurt; lower; trim; new bars last. A flat bar is dried before it is cut. Dust of old finishes and rosewood sensitises: extraction and a mask." }
    }
}

fn retune_table(view: &RetuneView, triage: &Triage, units: Units) -> Markup {
    html! {
        div .scroll {
            table .stack .bars {
                thead { tr {
                    th scope="col" { "note" } th .figure scope="col" { "went, modes 1/2/3" } th scope="col" { "what to do" } th .figure scope="col" { "minutes" }
                } }
                tbody { @for (bar, told) in view.back.set.bars.iter().zip(&triage.bars) {
                    tr {
                        th scope="row" { a .bar-link href={ "/bench/" (bar.row.uid) } { (bar.note) } }
                        td .figure data-label="went" { (report::retune::went(told)) }
                        td data-label="what to do" { span {
                            @match told.work { Work::Leave => (marks::double_tick()), Work::Lower(_) => (marks::hatch()), Work::DryFirst(_) => (marks::hourglass()), Work::Strike(_) => (marks::mallet()), _ => (marks::triangle()) }
                            " " (report::retune::words(&told.work, units))
                        } }
                        td .figure data-label="minutes" { (plain(told.minutes, 0)) }
                    }
                } }
            }
        }
    }
}
