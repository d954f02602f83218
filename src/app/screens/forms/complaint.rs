//! Forms of a complaint: the call, another call, which lots it may be, the hold, the answer.

use super::breach::{decider, decision};
use super::sold::customers;
use super::{Submit, Wrong, range, some_text};
use crate::app::form::{Field, Form, Opt, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::code::{Code, within_one_edit};
use crate::domain::complaint::{
    Asked, BACK_D, Candidate, Complaint, Named, NewComplaint, Severity, Standing, Told, What, candidates,
};
use crate::domain::hold::NewHold;
use crate::domain::id::{ComplaintId, CustomerId, LotId, ProductId};
use crate::domain::text::{NOTE_GRAPHEMES, counted};
use crate::domain::trace::Start;

/// Which of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// What is wrong, and whether all it may be is held at once.
    New(What, bool),
    More(ComplaintId),
    Lots(ComplaintId),
    Hold(ComplaintId),
    Close(ComplaintId),
    Blank(ComplaintId),
}

/// Lots that are offered; whoever knows the code types it.
const OFFERED: usize = 20;

pub(super) fn build(model: &Model, of: Of) -> Form {
    match of {
        Of::New(what, hold) => new(model, what, hold),
        Of::More(_) => more(model),
        Of::Lots(_) => lots(model),
        Of::Hold(_) => hold(model),
        Of::Close(_) => decision(model, "Answered", ["What was found, and what the customer was told.".to_string()]),
        Of::Blank(_) => Form::new(
            "Take out what it says of people",
            model.today(),
            vec![Field::note("reason", "why", NOTE_GRAPHEMES).required()],
        )
        .intro([
            "Names, words and health details of this complaint are gone for good; the complaint and its lots stay.",
        ]),
    }
}

fn new(model: &Model, what: What, hold: bool) -> Form {
    let products = model.goods.products.iter().map(|p| Opt::new(p.id.0.to_string(), p.name.clone())).collect();
    let severity = Severity::ALL.iter().map(|s| Opt::new(s.stored(), s.shown())).collect();
    let grave = if what == What::Illness { Severity::Grave } else { Severity::Small };
    let (today, ill) = (model.today(), what == What::Illness);
    let first = today - chrono::Duration::days(400);
    let mut fields = vec![
        Field::choice("customer", "customer", customers(model)).help("Leave it empty if they bought it on a stall."),
        Field::choice("product", "product", products),
        Field::date("delivered", "got it on", Some(first), Some(today))
            .help("The day they say; empty if they do not know."),
        Field::text("code", "label", 40).help("The lot code as they read it out; empty if the label is gone."),
        Field::many("lots", "may be", vec![])
            .help("Space ticks. Keep open what it may be; the trace runs over all of them."),
        Field::date("noticed", "noticed on", Some(first), Some(today)).required().starting(&today.to_string()),
        Field::choice("severity", "how bad", severity).required().starting(grave.stored()),
        Field::yes_no("hold", "hold it all")
            .required()
            .starting(if hold { "yes" } else { "no" })
            .help("All lots that are ticked, their seed lots, and everything made of them."),
    ];
    fields.extend(people(ill));
    let mut form = Form::new(format!("A customer calls: {}", what.shown()), today, fields);
    if ill {
        form = form.intro([
            "Whoever is ill sees a doctor: this is no medical advice. They keep the pack cold and closed, we our sample.",
        ]);
    }
    form
}

/// What is said of people.
fn people(ill: bool) -> Vec<Field> {
    let mut fields = vec![
        Field::note("words", "what they said", NOTE_GRAPHEMES),
        Field::text("kept", "how they kept it", 200).help("In the fridge or not, how cold, opened when."),
        Field::text("caller", "who calls", 100).help("Name and number. It can be taken out later."),
        Field::text("photo", "photo", 200).help("Where it is kept: a file, a message."),
    ];
    if ill {
        fields.splice(
            0..0,
            [
                Field::number("ill", "how many are ill", range("", 0.0, 100_000.0, 0)),
                Field::text("ate", "ate it when", 100),
                Field::text("onset", "it began when", 100).help("Also what they feel; no names."),
                Field::text("others", "who else ate it", 200),
            ],
        );
    }
    fields
}

fn more(model: &Model) -> Form {
    Form::new("They said more", model.today(), people(true)).intro(["Only what is new; what was said before stays."])
}

fn lots(model: &Model) -> Form {
    let standing = Standing::ALL.iter().map(|s| Opt::new(s.stored(), s.shown())).collect();
    Form::new(
        "Which lot it is, or may be",
        model.today(),
        vec![
            Field::many("lots", "lots", vec![]).required().help("Space ticks."),
            Field::choice("standing", "they are", standing).required(),
            Field::note("why", "why", NOTE_GRAPHEMES).required().help("What speaks for it, or against."),
        ],
    )
}

fn hold(model: &Model) -> Form {
    Form::new(
        "Hold all it may be, and their seed lots",
        model.today(),
        vec![
            Field::note("reason", "why", NOTE_GRAPHEMES).required(),
            Field::yes_no("call", "make the call sheet")
                .required()
                .starting("yes")
                .help("Everybody who has any of it."),
        ],
    )
    .intro([
        "Everything made of them is not sown, cut, packed, sold or given away until someone who may decide lifts it.",
    ])
}

/// What is known of the pack so far.
fn asked(model: &Model, values: &Values) -> Asked {
    let number = |id: &str| values.text(id).parse::<i64>().ok();
    let code = Code::parse(values.text("code")).ok().map(|code| code.shown());
    Asked {
        customer: number("customer").map(CustomerId),
        product: number("product").map(ProductId),
        delivered: values.date("delivered"),
        noticed: values.date("noticed"),
        code: code.and_then(|code| model.answers.sold.iter().find(|sold| sold.code == code)).map(|sold| sold.lot),
    }
}

/// The lots a complaint in the book may be about: what it named, then what else fits.
fn of_complaint(model: &Model, id: ComplaintId) -> Vec<Opt> {
    let Some(complaint) = model.answers.complaint(id) else { return vec![] };
    let asked = Asked {
        customer: complaint.customer,
        product: complaint.product,
        delivered: complaint.delivered,
        noticed: Some(complaint.day),
        code: None,
    };
    let named = complaint.lots.iter().map(|lot| {
        let hint = format!("{}; {}", lot.standing.shown(), lot.why);
        Opt::new(lot.lot.0.to_string(), lot.code.clone()).hint(hint)
    });
    let known: Vec<LotId> = complaint.lots.iter().map(|lot| lot.lot).collect();
    let others = candidates(&asked, &model.answers.sold).into_iter().filter(|other| !known.contains(&other.lot));
    named.chain(others.map(|candidate| option(&candidate))).take(OFFERED).collect()
}

fn option(candidate: &Candidate) -> Opt {
    Opt::new(candidate.lot.0.to_string(), candidate.code.clone()).hint(format!("{}: {}", candidate.name, candidate.why))
}

pub(super) fn changed(model: &Model, of: Of, form: &mut Form) {
    match of {
        Of::Lots(id) => form.set_options("lots", of_complaint(model, id)),
        Of::New(..) => {
            let values = form.values();
            let found = candidates(&asked(model, &values), &model.answers.sold);
            form.set_options("lots", found.iter().take(OFFERED).map(option).collect());
            // of everything that went out nothing is proposed
            let narrow = ["customer", "product", "code"].iter().any(|id| !values.text(id).is_empty());
            let likely = if narrow { likely(&found) } else { vec![] };
            let likely: Vec<String> = likely.iter().map(|candidate| candidate.lot.0.to_string()).collect();
            form.set_default("lots", &likely.join("\n"));
            form.lines = lines(model, &values, &found);
        }
        _ => {}
    }
}

/// Those that nothing speaks against; if there are none, the one that fits best.
fn likely(found: &[Candidate]) -> Vec<&Candidate> {
    if let Some(sure) = found.iter().find(|candidate| candidate.sure) {
        return vec![sure];
    }
    let likely: Vec<&Candidate> = found.iter().take(OFFERED).filter(|candidate| candidate.likely).collect();
    if likely.is_empty() { found.iter().take(1).collect() } else { likely }
}

fn lines(model: &Model, values: &Values, found: &[Candidate]) -> Vec<String> {
    let mut lines = vec![match found.len() {
        0 => format!("Nothing that went out in {BACK_D} days fits: look at customer and days again."),
        n => format!("{} went out that it may be; the likeliest first.", counted(n, "lot")),
    }];
    let typed = values.text("code").trim();
    if typed.is_empty() || found.iter().any(|candidate| candidate.sure) {
        return lines;
    }
    let known: Vec<&str> = model.answers.sold.iter().map(|sold| sold.code.as_str()).collect();
    let mut near = within_one_edit(typed, known.into_iter());
    near.sort_unstable();
    near.dedup();
    lines.push(match (Code::parse(typed), near.as_slice()) {
        (_, [_, ..]) => {
            format!("{typed} did not go out. One character away: {}. Ask them to read it again.", near.join(", "))
        }
        (Ok(_), []) => format!("{typed} is no lot that went out in {BACK_D} days: trace it by its label."),
        (Err(why), []) => format!("{typed}: {why}."),
    });
    lines
}

/// Lots ticked, as numbers of the book.
fn ticked(values: &Values) -> Vec<LotId> {
    values.many("lots").iter().filter_map(|id| id.parse().ok().map(LotId)).collect()
}

fn told(values: &Values) -> Told {
    Told {
        caller: some_text(values, "caller"),
        kept: some_text(values, "kept"),
        words: some_text(values, "words"),
        photo: some_text(values, "photo"),
        ill: super::scaled(values, "ill", 1.0),
        ate: some_text(values, "ate"),
        onset: some_text(values, "onset"),
        others: some_text(values, "others"),
    }
}

pub(super) fn submit(model: &Model, of: Of, values: &Values) -> Result<Submit, Wrong> {
    let action = match of {
        Of::New(what, _) => complain(model, what, values)?,
        Of::More(complaint) => Action::TellMore { complaint, told: Box::new(told(values)) },
        Of::Lots(complaint) => {
            let Some(standing) = Standing::from_stored(values.text("standing")) else {
                return Err((Some("standing"), "Say how they stand.".into()));
            };
            let why = values.text("why").to_string();
            let lots = ticked(values).into_iter().map(|lot| Named { lot, standing, why: why.clone() }).collect();
            Action::NameLots { complaint, lots }
        }
        Of::Hold(complaint) => Action::Hold(Box::new(NewHold {
            what: Start::Lots(model.answers.complaint(complaint).map(Complaint::open_lots).unwrap_or_default()),
            complaint: Some(complaint),
            with_seed: true,
            call: values.yes("call"),
            reason: values.text("reason").to_string(),
        })),
        Of::Close(complaint) => {
            Action::CloseComplaint { complaint, by: decider(values)?, found: values.text("reason").to_string() }
        }
        Of::Blank(complaint) => Action::Blank { complaint, reason: values.text("reason").to_string() },
    };
    Ok(Submit::Act(Box::new(action)))
}

fn complain(model: &Model, what: What, values: &Values) -> Result<Action, Wrong> {
    let asked = asked(model, values);
    let found = candidates(&asked, &model.answers.sold);
    let (Some(day), Some(severity)) = (values.date("noticed"), Severity::from_stored(values.text("severity"))) else {
        return Err((Some("noticed"), "Say when it was noticed.".into()));
    };
    let lots = ticked(values).into_iter().filter_map(|lot| found.iter().find(|candidate| candidate.lot == lot));
    let named = |candidate: &Candidate| Named {
        lot: candidate.lot,
        standing: if candidate.sure { Standing::Sure } else { Standing::Open },
        why: candidate.why.clone(),
    };
    Ok(Action::Complain(Box::new(NewComplaint {
        customer: asked.customer,
        product: asked.product,
        day,
        delivered: asked.delivered,
        code: some_text(values, "code"),
        what,
        severity,
        told: told(values),
        lots: lots.map(named).collect(),
        hold: values.yes("hold"),
    })))
}
