//! A recall: whom to call about what, who was reached, where everything is, and how long it took.

use super::answering::Answering;
use super::id::{ComplaintId, DeliveryId, EntryId, HoldId, LotId, RecallId, RoundId};
use super::stock::Account;
use super::text::counted;
use super::time::{Day, Instant};
use super::trace::{Public, Recipient};

/// A line of the call sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
pub enum Line {
    Delivery(DeliveryId),
    /// The notice to the public about a stall.
    Notice(RoundId),
}

/// What came of a try, in the log and on the sheet.
pub fn outcome(notice: bool, reached: bool) -> &'static str {
    match (notice, reached) {
        (false, true) => "reached",
        (false, false) => "not reached",
        (true, true) => "notice posted",
        (true, false) => "notice not posted yet",
    }
}

/// One lot on a line.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct CallLot {
    pub lot: LotId,
    pub code: String,
    pub product: String,
    pub packs: i64,
    pub returned: i64,
}

/// Somebody to call, or a notice to post.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Call {
    pub line: Line,
    /// Customer; or the place and hours of a stall.
    pub name: String,
    pub address: String,
    pub phone: String,
    pub day: Day,
    pub lots: Vec<CallLot>,
    /// The newest try: whether they were reached, when, by whom.
    pub tried: Option<(bool, Instant, String)>,
    /// Packs they destroyed where they are, as they said.
    pub destroyed: i64,
    /// What was said.
    pub note: Option<String>,
}

impl Call {
    pub fn packs(&self) -> i64 {
        self.lots.iter().map(|lot| lot.packs).sum()
    }

    pub fn returned(&self) -> i64 {
        self.lots.iter().map(|lot| lot.returned).sum()
    }

    /// The same people as those of another call.
    pub fn to(&self, other: &Self) -> bool {
        (&self.name, &self.phone, &self.address) == (&other.name, &other.phone, &other.address)
    }

    pub fn reached(&self) -> bool {
        self.tried.as_ref().is_some_and(|(reached, ..)| *reached)
    }

    /// Packs of which nobody can say yet where they are.
    pub fn missing(&self) -> i64 {
        if self.reached() { 0 } else { (self.packs() - self.returned() - self.destroyed).max(0) }
    }
}

/// A call sheet from what a trace found: one line a delivery, one a stall.
pub fn calls(recipients: &[Recipient], public: &[Public]) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    let mut add = |line: Line, make: &dyn Fn() -> Call, lot: CallLot| match calls.iter_mut().find(|c| c.line == line) {
        Some(call) => call.lots.push(lot),
        None => calls.push(Call { lots: vec![lot], ..make() }),
    };
    let call = |line, name: &str, address: &str, phone: &str, day| Call {
        line,
        name: name.into(),
        address: address.into(),
        phone: phone.into(),
        day,
        lots: Vec::new(),
        tried: None,
        destroyed: 0,
        note: None,
    };
    for got in recipients {
        let line = Line::Delivery(got.delivery);
        let lot = CallLot {
            lot: got.lot,
            code: got.code.clone(),
            product: got.product.clone(),
            packs: got.packs,
            returned: got.returned,
        };
        add(line, &|| call(line, &got.name, &got.address, &got.phone, got.day), lot);
    }
    for sold in public {
        let line = Line::Notice(sold.round);
        let lot = CallLot {
            lot: sold.lot,
            code: sold.code.clone(),
            product: sold.product.clone(),
            packs: sold.packs,
            returned: 0,
        };
        add(line, &|| call(line, &sold.place, &sold.hours, "", sold.day), lot);
    }
    calls.sort_by(|a, b| (b.day, &a.name, a.line).cmp(&(a.day, &b.name, b.line)));
    calls
}

/// Where everything of a lot is, for the balance of a recall.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Balance {
    pub lot: LotId,
    pub code: String,
    pub name: String,
    /// A harvest lot counts grams, a pack lot packs.
    pub unit: &'static str,
    pub account: Account,
}

/// A recall as the screen and the printed sheet show it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Recall {
    pub id: RecallId,
    pub hold: HoldId,
    pub entry: EntryId,
    pub complaint: Option<ComplaintId>,
    pub exercise: bool,
    /// What is held, in words.
    pub scope: String,
    /// The call, or the hold where nobody called.
    pub from: Instant,
    /// When the list was there.
    pub listed: Instant,
    pub calls: Vec<Call>,
    pub balances: Vec<Balance>,
    /// An exercise that is over: found and balance per mille, minutes, gaps.
    pub scored: Option<Scored>,
}

/// How an exercise went.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Scored {
    pub found_pm: i64,
    pub balance_pm: Option<i64>,
    pub minutes: i64,
    pub gaps: String,
}

fn minutes(from: Instant, to: Instant) -> i64 {
    (to.0 - from.0).num_minutes().max(0)
}

impl Recall {
    /// The last moment at which someone was reached.
    pub fn last_reached(&self) -> Option<Instant> {
        self.calls
            .iter()
            .filter_map(|call| call.tried.as_ref())
            .filter(|(reached, ..)| *reached)
            .map(|(_, at, _)| *at)
            .max()
    }

    /// Everybody was reached, and every notice posted.
    pub fn done(&self) -> bool {
        self.calls.iter().all(Call::reached)
    }

    /// Packs that went out, and those of which nobody can say yet where they are.
    pub fn packs(&self) -> (i64, i64) {
        let all = self.calls.iter().map(Call::packs).sum();
        (all, self.calls.iter().map(Call::missing).sum())
    }

    /// Packs that were given away, also those by hand, which are on no line: the book knows nobody to call.
    pub fn given(&self) -> i64 {
        self.balances.iter().filter(|balance| balance.unit == "packs").map(|balance| balance.account.given).sum()
    }

    /// Per mille of the packs that went out of which someone can say where they are; all, if none went out.
    pub fn found_pm(&self) -> i64 {
        let (all, missing) = self.packs();
        if all == 0 { 1000 } else { ((all - missing) * 1000 + all / 2) / all }
    }

    /// The worst balance of its lots, furthest from 1000 per mille on either side.
    pub fn balance_pm(&self) -> Option<i64> {
        self.balances.iter().filter_map(|balance| balance.account.accounted_pm()).max_by_key(|pm| (pm - 1000).abs())
    }

    /// From the call to the list, and to the last one reached, against what the room wants.
    pub fn clock(&self, targets: &Answering, now: Instant) -> Vec<String> {
        let said = |minutes: i64| match minutes {
            0..120 => format!("{minutes} min"),
            _ => format!("{} h {} min", minutes / 60, minutes % 60),
        };
        let listed = minutes(self.from, self.listed);
        let verdict = match listed {
            m if m <= targets.trace_min => "within the target of",
            m if m <= targets.ceiling_min => "over the target, within the ceiling of",
            _ => "over the ceiling of",
        };
        let limit = if listed <= targets.trace_min { targets.trace_min } else { targets.ceiling_min };
        let mut lines = vec![format!("Call to list: {}, {verdict} {}.", said(listed), said(limit))];
        let open = self.calls.iter().filter(|call| !call.reached()).count();
        lines.push(match (self.last_reached(), open) {
            (Some(last), 0) => {
                format!("Call to last contact: {}; everybody was reached.", said(minutes(self.from, last)))
            }
            (None, 0) => "Nobody outside has any of it.".into(),
            (_, open) => {
                let since = said(minutes(self.from, now));
                let late = if minutes(self.from, now) > targets.authority_min {
                    ", longer than an authority allows"
                } else {
                    ""
                };
                format!("{} still to be reached, {since} since the call{late}.", counted(open, "line"))
            }
        });
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Instant {
        Instant::parse(text).unwrap()
    }

    fn got(delivery: i64, lot: i64, packs: i64, returned: i64) -> Recipient {
        Recipient {
            delivery: DeliveryId(delivery),
            name: "Table".into(),
            address: "Quay 1".into(),
            phone: "555".into(),
            day: "2026-07-11".parse().unwrap(),
            lot: LotId(lot),
            code: format!("L{lot}"),
            product: "pea".into(),
            packs,
            returned,
        }
    }

    fn recall(calls: Vec<Call>) -> Recall {
        Recall {
            id: RecallId(1),
            hold: HoldId(1),
            entry: EntryId(9),
            complaint: None,
            exercise: false,
            scope: "Seed lot S0001".into(),
            from: at("2026-07-14T06:00:00Z"),
            listed: at("2026-07-14T06:20:00Z"),
            calls,
            balances: vec![],
            scored: None,
        }
    }

    #[test]
    fn a_delivery_is_one_line_with_all_its_lots_and_a_stall_another() {
        let public = Public {
            round: RoundId(1),
            place: "Quay market".into(),
            hours: "8 to 12".into(),
            day: "2026-07-12".parse().unwrap(),
            lot: LotId(3),
            code: "L3".into(),
            product: "mix".into(),
            packs: 5,
        };
        let calls = calls(&[got(1, 1, 4, 1), got(1, 2, 2, 0), got(2, 1, 3, 0)], &[public]);
        assert_eq!(
            calls.iter().map(|call| call.line).collect::<Vec<_>>(),
            [Line::Notice(RoundId(1)), Line::Delivery(DeliveryId(1)), Line::Delivery(DeliveryId(2)),]
        );
        assert_eq!((calls[1].packs(), calls[1].returned(), calls[1].missing()), (6, 1, 5));
    }

    #[test]
    fn what_came_back_or_was_destroyed_or_whose_owner_was_reached_is_found() {
        let mut lines = calls(&[got(1, 1, 4, 1), got(2, 1, 6, 0)], &[]);
        assert_eq!(recall(lines.clone()).found_pm(), 100);
        lines[0].tried = Some((true, at("2026-07-14T07:00:00Z"), "AK".into()));
        lines[1].destroyed = 2;
        let recall = recall(lines);
        assert_eq!((recall.packs(), recall.found_pm(), recall.done()), ((10, 4), 600, false));
    }

    #[test]
    fn the_clock_runs_from_the_call_to_the_last_contact() {
        let mut lines = calls(&[got(1, 1, 4, 0)], &[]);
        let targets = Answering::default();
        let now = at("2026-07-14T09:00:00Z");
        assert_eq!(
            recall(lines.clone()).clock(&targets, now),
            [
                "Call to list: 20 min, within the target of 2 h 0 min.",
                "1 line still to be reached, 3 h 0 min since the call.",
            ]
        );
        lines[0].tried = Some((true, at("2026-07-14T08:10:00Z"), "AK".into()));
        let mut late = recall(lines);
        late.listed = at("2026-07-14T10:30:00Z");
        assert_eq!(
            late.clock(&targets, now),
            [
                "Call to list: 4 h 30 min, over the ceiling of 4 h 0 min.",
                "Call to last contact: 2 h 10 min; everybody was reached.",
            ]
        );
    }
}
