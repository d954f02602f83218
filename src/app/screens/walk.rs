//! The walk: one key per unremarkable tray.

mod grade;

use std::collections::BTreeMap;

use super::chosen::Chosen;
use super::forms::FormKind;
use super::walk_end;
use super::{check, form_page, pick, share, tray_menus, whereabouts};
use crate::app::command::Command;
use crate::app::effect::{Effect, Query};
use crate::app::model::{Model, Screen};
use crate::domain::action::{Action, Done};
use crate::domain::id::{TrayId, WalkId};
use crate::domain::look::Basis;
use crate::domain::text::counted;
use crate::domain::time::Day;
use crate::domain::tray::{Stage, TrayCard};
use crate::domain::walk::{Mode, Visit, Walk};
use crate::domain::whereabouts::Sighting;
pub use grade::{Grade, grade, plan};

/// A walk under way, or a look at one tray outside of it.
#[derive(Debug, Clone)]
pub struct State {
    /// `None`: a single look from the room.
    pub walk: Option<Walk>,
    pub mode: Mode,
    /// Stops in walking order: done ones and open ones.
    pub route: Vec<TrayId>,
    pub at: Option<TrayId>,
    chosen: BTreeMap<TrayId, Chosen>,
    /// The first suspect tray it came to, where gloves are spoken of.
    pub gloves: Option<TrayId>,
    /// The first tray after a suspect one, which wants fresh gloves.
    pub fresh: Option<TrayId>,
    /// A suspect tray was the last to be stood at.
    soiled: bool,
    /// To be written when the look in hand is in the book, and not without it.
    pub then: Option<Box<Action>>,
}

impl State {
    fn of(mode: Mode, at: Option<TrayId>) -> Self {
        Self {
            walk: None,
            mode,
            route: at.into_iter().collect(),
            at,
            chosen: BTreeMap::new(),
            gloves: None,
            fresh: None,
            soiled: false,
            then: None,
        }
    }

    pub fn chosen_for(&self, tray: TrayId) -> Chosen {
        self.chosen.get(&tray).cloned().unwrap_or_default()
    }

    pub fn choose(&mut self, tray: TrayId, change: impl FnOnce(&mut Chosen)) {
        change(self.chosen.entry(tray).or_default());
    }

    pub fn visited(&self, tray: TrayId) -> bool {
        self.walk.as_ref().is_some_and(|walk| walk.visited(tray))
    }

    /// The day the walk is of: a paper sheet's own, else today.
    pub fn day(&self, today: Day) -> Day {
        self.walk.as_ref().map_or(today, |walk| walk.on(today))
    }

    /// Has an entry of this walk and was not skipped.
    fn done(&self, tray: TrayId) -> bool {
        let mut visits = self.walk.iter().flat_map(|walk| &walk.visited);
        visits.any(|visit| visit.tray == tray && visit.skip.is_none())
    }

    /// Stops still without an entry.
    pub fn open_count(&self) -> usize {
        self.route.iter().filter(|tray| !self.visited(**tray)).count()
    }

    fn next_open(&self) -> Option<TrayId> {
        let at = self.at.and_then(|at| self.route.iter().position(|t| *t == at)).unwrap_or(0);
        let (before, after) = self.route.split_at_checked(at)?;
        after.iter().chain(before).copied().find(|tray| !self.visited(*tray))
    }
}

impl Model {
    /// The tray at which the walk stands.
    pub fn walk_tray(&self) -> Option<&TrayCard> {
        self.board.tray(self.walk()?.at?)
    }
}

/// Opens the screen for a walk that was begun or is resumed.
pub fn open(model: &mut Model, id: WalkId, mode: Mode) -> Vec<Effect> {
    model.open(Screen::Walk(Box::new(State::of(mode, None))));
    vec![Effect::Load(Query::Walk(id))]
}

/// A walk was written as begun: its screen opens when it is loaded.
pub fn begun(model: &mut Model, done: &Done) {
    if let (Some(id), Some(Screen::Room(_))) = (done.made, model.top()) {
        let _ = open(model, WalkId(id), Mode::Both);
    }
}

/// A look at one tray, outside any walk.
pub fn look_at_one(model: &mut Model, tray: TrayId) {
    model.open(Screen::Walk(Box::new(State::of(Mode::Both, Some(tray)))));
}

/// The walk came from the book.
pub fn loaded(model: &mut Model, walk: Walk) -> Vec<Effect> {
    let over = model.screens.iter_mut().find_map(|screen| match screen {
        Screen::WalkEnd(end) if end.walk.id == walk.id => Some(end),
        _ => None,
    });
    if let Some(end) = over {
        end.walk = walk;
        return vec![];
    }
    share::tell(model, &walk);
    let done_by = done_meanwhile(model, &walk);
    let Some(state) = model.walk_mut() else { return vec![] };
    state.mode = walk.mode;
    state.walk = Some(walk);
    if done_by.is_some() {
        state.at = state.next_open();
    }
    refresh(model);
    if let Some(said) = done_by {
        model.say(said);
    }
    let empty = model.walk().is_some_and(|walk| walk.at.is_none());
    if empty && matches!(model.top(), Some(Screen::Walk(_))) {
        end(model);
    }
    vec![]
}

/// Someone else wrote of the tray in hand meanwhile, and nothing was chosen for it here: on to the next.
fn done_meanwhile(model: &Model, walk: &Walk) -> Option<String> {
    let (tray, who) = (model.walk_tray()?, model.who?);
    let state = model.walk()?;
    // before the walk is loaded for the first time nothing was done meanwhile
    let known = state.walk.as_ref().is_some_and(|before| !before.visited(tray.id));
    let visit = walk.visited.iter().find(|visit| visit.tray == tray.id && visit.by != who)?;
    let by = model.board.people.iter().find(|person| person.id == visit.by)?;
    (known && state.chosen_for(tray.id).is_empty()).then(|| format!("{} has just done {}.", by.initials, tray.code()))
}

/// Lays the route anew after the room changed.
pub fn refresh(model: &mut Model) {
    let today = model.today();
    let Some(state) = model.walk() else { return };
    let Some(walk) = &state.walk else { return };
    let held =
        |tray: TrayId| state.at == Some(tray) || state.chosen.get(&tray).is_some_and(|chosen| !chosen.is_empty());
    let mut route: Vec<&TrayCard> = model
        .board
        .trays
        .iter()
        .filter(|tray| {
            // the tray in hand stays, also one that came by its label, and what was chosen for one
            let stop = walk.visited(tray.id) || walk.stops_at(tray, today);
            held(tray.id) || (walk.is_for(tray.place.rack, model.who) && stop)
        })
        .collect();
    // suspects come last, after clean hands have done the others; one that became suspect here stays where it was
    route.sort_by_key(|tray| tray.doubtful() && !walk.visited(tray.id));
    let route: Vec<TrayId> = route.into_iter().map(|tray| tray.id).collect();
    if let Some(state) = model.walk_mut() {
        state.route = route;
        if state.at.is_none_or(|at| !state.route.contains(&at)) {
            state.at = state.next_open();
        }
    }
}

/// At the first suspect stop of a walk gloves are spoken of, once; and at every way back from a suspect to a clean tray.
pub fn remind(model: &mut Model) {
    let Some((tray, doubtful)) = model.walk_tray().map(|tray| (tray.id, tray.doubtful())) else { return };
    let Some(state) = model.walk_mut().filter(|state| state.walk.is_some()) else { return };
    if doubtful {
        if !state.visited(tray) {
            state.gloves.get_or_insert(tray);
        }
        (state.soiled, state.fresh) = (true, None);
    } else if std::mem::take(&mut state.soiled) {
        state.fresh = Some(tray);
    }
}

/// Other racks are walked from here on: to the first stop there, unless something was chosen and not written, or
/// nothing is left to do.
pub fn go_to_own(model: &mut Model) {
    let Some(state) = model.walk_mut().filter(|state| state.walk.is_some()) else { return };
    let Some(at) = state.at.filter(|at| state.chosen_for(*at).is_empty()) else { return };
    state.at = None;
    refresh(model);
    if let Some(state) = model.walk_mut().filter(|state| state.at.is_none()) {
        state.at = Some(at);
        refresh(model);
    }
}

/// To a tray whose label was read. Never writes.
pub fn jump(model: &mut Model, tray: TrayId) -> Vec<Effect> {
    if let Some(state) = model.walk_mut() {
        if !state.route.contains(&tray) {
            state.route.push(tray);
        }
        state.at = Some(tray);
    }
    vec![]
}

fn end(model: &mut Model) {
    let Some(Screen::Walk(state)) = model.screens.pop() else { return };
    match state.walk {
        Some(walk) if walk.visited.is_empty() => model.say("Nothing is due on this walk."),
        Some(walk) => model.open(Screen::WalkEnd(walk_end::State { walk, from: 0 })),
        None => {}
    }
}

/// An action went through while the walk lies open: on to the next stop, or back to the one taken back.
pub fn acted(model: &mut Model, action: &Action, done: &Done) -> Vec<Effect> {
    let kept = model.drafts.len();
    let then = model.walk_mut().filter(|_| matches!(action, Action::Look(_))).and_then(|state| state.then.take());
    if let Action::Look(_) | Action::Throw { .. } = action {
        // what was typed for these stops is in the book now
        for tray in &done.trays {
            model.drafts.remove(&FormKind::StopNote(*tray).draft_name());
            model.drafts.remove(&FormKind::StopWater(*tray).draft_name());
        }
    }
    if matches!(model.top(), Some(Screen::Walk(_))) {
        go_on(model, action, done);
    }
    let keep = (model.drafts.len() != kept).then_some(Effect::KeepDrafts);
    then.map(Effect::Act).into_iter().chain(keep).collect()
}

/// An action was refused: what was to follow it is not done either.
pub fn refused(model: &mut Model) {
    if let Some(state) = model.walk_mut() {
        state.then = None;
    }
}

fn go_on(model: &mut Model, action: &Action, done: &Done) {
    let (at, who) = (model.now.instant(), model.who);
    let Some(state) = model.walk_mut() else { return };
    let (skip, glance) = match action {
        Action::Look(look) => (look.skip, look.basis != Basis::Tray),
        Action::Throw { .. } => (None, false),
        Action::Undo => {
            if let (Some(walk), Some(first)) = (&mut state.walk, done.trays.first()) {
                walk.visited.retain(|visit| !done.trays.contains(&visit.tray));
                state.at = Some(*first);
            } else if state.walk.as_ref().is_some_and(|walk| walk.visited.is_empty() && walk.shares.is_empty()) {
                // the walk itself was taken back; one that is shared cannot be
                model.back();
            }
            return;
        }
        Action::Sight { .. } if state.walk.is_none() => {
            model.back();
            return;
        }
        Action::Sight { trays, .. } => {
            found(state, trays);
            return;
        }
        // after a move, or with some mats gone, the tray still stands here and wants its look
        _ => return,
    };
    for tray in &done.trays {
        state.chosen.remove(tray);
    }
    let Some(walk) = &mut state.walk else {
        model.back();
        return;
    };
    walk.visited.retain(|visit| !done.trays.contains(&visit.tray));
    if let Some(by) = walk.seen.by.or(who) {
        walk.visited.extend(done.trays.iter().map(|tray| Visit { tray: *tray, skip, at, by, glance }));
    }
    state.at = state.next_open();
    if state.at.is_none() {
        end(model);
    }
}

/// To a tray found here; past one that is not here.
fn found(state: &mut State, trays: &[Sighting]) {
    if let Some((tray, _)) = trays.iter().find(|(_, place)| place.is_some()) {
        state.at = Some(*tray);
    } else if let Some(at) = state.at.filter(|at| trays.iter().any(|(tray, _)| tray == at)) {
        let n = state.route.iter().position(|tray| *tray == at).unwrap_or(0);
        state.route.retain(|tray| *tray != at);
        let (before, after) = state.route.split_at_checked(n).unwrap_or((&state.route, &[]));
        state.at = after.iter().chain(before).copied().find(|tray| !state.visited(*tray));
    }
}

/// What a command does on the walk.
pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    if command == Command::Back {
        return leave(model);
    }
    let Some(tray) = model.walk_tray().cloned() else {
        model.back();
        return vec![];
    };
    let roots_too = !tray.roots_hidden && !tray.grades_roots(model.today());
    match command {
        Command::Left | Command::Right => {
            step(model, command == Command::Right);
            vec![]
        }
        // what is suspect is asked about, never answered by one key
        Command::Fuzz => check::open(model, &tray),
        Command::Hairs if tray.doubtful() => check::open(model, &tray),
        Command::Grade(..) | Command::Hairs | Command::WriteChosen => match plan(model, command) {
            Ok(action) => vec![Effect::Act(Box::new(action))],
            Err(refusal) => {
                model.refuse_for(&refusal);
                vec![]
            }
        },
        Command::Ready => pick::ready(&tray),
        Command::Note => open_form(model, FormKind::StopNote(tray.id)),
        Command::Water => open_form(model, FormKind::StopWater(tray.id)),
        Command::Odd => {
            let now = model.walk().map(|walk| walk.chosen_for(tray.id).faults).unwrap_or_default();
            open_menu(model, tray_menus::odd(&tray, now))
        }
        Command::Skip => open_menu(model, tray_menus::skip(&tray)),
        Command::ToLight if tray.stage == Stage::Lit || tray.stage == Stage::Ready => {
            model.refuse("It is under light already: the move key brings it elsewhere.");
            vec![]
        }
        Command::ToLight => {
            let menu = tray_menus::to_light(model, &tray);
            open_menu(model, menu)
        }
        Command::Move => {
            let menu = tray_menus::go(model, &tray);
            open_menu(model, menu)
        }
        Command::Whereabouts => {
            whereabouts::open(model, tray.place.id);
            vec![]
        }
        Command::NextPerson => {
            super::room::next_person(model);
            vec![]
        }
        Command::More => {
            let mut menu = tray_menus::everything(&tray, roots_too);
            let walk = model.walk().and_then(|state| state.walk.as_ref());
            menu.items.extend(walk.and_then(|walk| share::line(model, walk)).map(|item| item.letter('s')));
            open_menu(model, menu)
        }
        _ => vec![],
    }
}

fn open_menu(model: &mut Model, menu: crate::app::menu::Menu<pick::Pick>) -> Vec<Effect> {
    model.open(Screen::Menu(menu));
    vec![]
}

fn open_form(model: &mut Model, kind: FormKind) -> Vec<Effect> {
    form_page::open(model, kind);
    vec![]
}

fn step(model: &mut Model, forward: bool) {
    let Some(state) = model.walk_mut() else { return };
    let at = state.at.and_then(|at| state.route.iter().position(|t| *t == at)).unwrap_or(0);
    let to = if forward { at + 1 } else { at.wrapping_sub(1) };
    match state.route.get(to) {
        Some(tray) => state.at = Some(*tray),
        None if forward => model.refuse("This is the last tray of the walk."),
        None => model.refuse("This is the first tray of the walk."),
    }
}

fn leave(model: &mut Model) -> Vec<Effect> {
    let place = model.walk_tray().map(|tray| tray.place.id);
    let left = model.walk().filter(|walk| walk.walk.is_some()).map(State::open_count);
    let others = model.walk().and_then(|state| state.walk.as_ref()).map(|walk| share::left(model, walk));
    let others = others.into_iter().flatten().filter(|(own, _)| !own);
    let others: Vec<String> = others.map(|(_, sentence)| sentence).collect();
    // what was chosen for a tray that someone else took off the rack meanwhile holds nobody back
    let here = |tray: &TrayId| model.board.tray(*tray).is_some();
    let unsaved = model.walk().and_then(|walk| walk.chosen.iter().find(|(tray, c)| !c.is_empty() && here(tray)));
    if let Some((tray, chosen)) = unsaved.map(|(tray, chosen)| (*tray, chosen.clone())) {
        model.refuse(if chosen.beside_note() {
            "Something was chosen and not written: give a grade, Enter writes it, u takes it back."
        } else {
            "A note is not written yet: give a grade, Enter writes it, n empties it."
        });
        if let Some(state) = model.walk_mut() {
            state.at = Some(tray);
        }
        return vec![];
    }
    model.back();
    if let Some(left) = left {
        let be = if left == 1 { "is" } else { "are" };
        let own = format!("{} of this walk {be} still to do; the walk key goes on there.", counted(left, "tray"));
        model.say([&[own], others.as_slice()].concat().join(" "));
    }
    if let (Some(room), Some(place)) = (model.room_mut(), place) {
        room.cursor = Some(place);
    }
    super::room::refresh(model)
}
