//! A certificate as people read it.
use super::units::{cents, cents_with_sigma, plain};
use crate::certified::{Certificate, Sealed, key};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use words::tell;

/// What its owner should know, a line each.
pub fn advice() -> [String; 6] {
    [tell!("advice-1"), tell!("advice-2"), tell!("advice-3"), tell!("advice-4"), tell!("advice-5"), tell!("advice-6")]
}

/// The seal as paper shows it: hash in groups and the key's print.
pub fn seal_words(sealed: &Sealed) -> String {
    let groups: Vec<String> =
        sealed.seal.sha256.as_bytes().chunks(8).map(|group| String::from_utf8_lossy(group).into_owned()).collect();
    let print = STANDARD.decode(&sealed.seal.key).map_or_else(|_| tell!("damaged"), |key| key::fingerprint(&key));
    format!("SHA-256 {}\n{}", groups.join(" "), tell!("sealed-with", key = print))
}

/// Air in words.
pub fn air_words(certificate: &Certificate) -> String {
    let reference = certificate.reference;
    let celsius = plain(reference.temperature_c.unwrap_or(f64::NAN), 1);
    super::climate::air_in_words(celsius, reference.humidity_pct)
}

/// How it was measured, in sentences.
pub fn method_words(certificate: &Certificate) -> String {
    let method = &certificate.method;
    let whose = if method.own_reference_bars { tell!("own-reference-bars") } else { tell!("generic-wood") };
    tell!(
        "cert-method",
        program = method.program.as_str(),
        air = air_words(certificate),
        cents = cents_with_sigma(method.cents_per_c, method.cents_per_c_sigma),
        whose = whose,
        sigma = plain(method.air_sigma_cents, 1),
    )
}

/// Bars that lie outside their class: note and cents.
pub fn outside(certificate: &Certificate) -> Vec<String> {
    let class = certificate.class();
    let far = |bar: &&crate::certified::CertifiedBar| {
        bar.cents.iter().enumerate().any(|(i, c)| {
            let note_hz = bar.hz.first().copied().unwrap_or(440.0);
            c.abs() > class.tolerance_cents(note_hz, i + 1)
        })
    };
    let words = |bar: &crate::certified::CertifiedBar| {
        let list: Vec<String> = bar.cents.iter().map(|c| cents(*c)).collect();
        format!("{} ({})", words::note(&bar.note), list.join("/"))
    };
    certificate.bars.iter().filter(far).map(words).collect()
}

/// The whole certificate with the advice.
pub fn to_text(sealed: &Sealed) -> String {
    let certificate = &sealed.certificate;
    let mut table = super::table();
    table.set_header(["note", "bar", "mode 1", "mode 2", "mode 3", "±", "heard"]);
    for bar in &certificate.bars {
        let mode = |i: usize| bar.cents.get(i).map_or_else(|| "–".to_owned(), |c| cents(*c));
        table.add_row([
            bar.note.clone(),
            bar.label.clone(),
            mode(0),
            mode(1),
            mode(2),
            plain(bar.sigma_cents, 1),
            bar.heard.to_string(),
        ]);
    }
    let customer = certificate.customer.as_ref().map_or_else(String::new, |name| format!(" for {name}"));
    let by = certificate.tuned_by.as_ref().map_or_else(String::new, |name| format!(", tuned by {name}"));
    let outside = outside(certificate);
    let within = if outside.is_empty() {
        format!("All {} bars are within {} class.", certificate.bars.len(), certificate.class)
    } else {
        format!(
            "{} of {} bars are outside {} class: {}.",
            outside.len(),
            certificate.bars.len(),
            certificate.class,
            outside.join(", ")
        )
    };
    let advice: String = advice().iter().map(|line| format!("- {line}\n")).collect();
    format!(
        "Tuning certificate: {}{customer}\n{}, {}{by}. A4 = {} Hz at {}. Next visit: {}.\nCents above target (modes 1, 2, 3: ×{}).\n{}\n{within}\n{}\n{}\n\nFor its owner:\n{advice}",
        certificate.instrument,
        certificate.workshop,
        certificate.date,
        plain(certificate.a4_hz, 2),
        air_words(certificate),
        certificate.next_visit,
        ratios(certificate),
        table.trim_fmt(),
        method_words(certificate),
        seal_words(sealed),
    )
}

/// The fullest list of ratios on it.
pub fn ratios(certificate: &Certificate) -> String {
    let most = certificate.bars.iter().map(|bar| &bar.ratios).max_by_key(|ratios| ratios.len());
    most.map_or_else(String::new, |ratios| ratios.iter().map(|ratio| plain(*ratio, 2)).collect::<Vec<_>>().join(", ×"))
}
