//! What taking a line of a short list means.

use super::forms::FormKind;
use super::forms::start::Then;
use super::whereabouts::Ask;
use super::{
    answer, beside, breach, check, chosen, countdown, cut, form_page, germ_test, hands, hold, meeting, records, room,
    score, settings, share, sold, standing, story, suspects, tray_menus, walk, whereabouts,
};
use crate::app::command::Command;
use crate::app::effect::Effect;
use crate::app::menu::{Item, Menu};
use crate::app::model::{Model, Screen};
use crate::app::update::on_command;
use crate::domain::action::Action;
use crate::domain::history::Of;
use crate::domain::id::{BreachId, GermTestId, HoldId, LotId, PersonId, PlaceId, RackId, SeedLotId, TrayId, WalkId};
use crate::domain::look::{Fault, Look, Roots, Skip};
use crate::domain::text::counted;
use crate::domain::tray::{Cleanup, Gear, LossReason, Stage, TrayCard};
use crate::domain::walk::{Mode, Walk};
use crate::domain::whereabouts::Sighting;

/// A line's meaning.
#[derive(Debug, Clone, PartialEq)]
pub enum Pick {
    Resume(WalkId, Mode),
    Begin(Mode, Option<RackId>),
    /// The racks of a walk, to take some of them.
    Share(Box<Walk>),
    Take(WalkId, RackId),
    /// Choose one rack, then the mode.
    OneRack(Option<RackId>),
    /// An answer of the fuzz check.
    Check(check::Answer),
    Fault(Fault),
    RootsMenu(TrayId),
    Roots(Roots),
    Skip(Skip),
    Go {
        tray: TrayId,
        to: Option<PlaceId>,
        stage: Option<Stage>,
    },
    /// Several trays in one entry.
    GoMany(Vec<(TrayId, Option<PlaceId>)>, Stage),
    ToLight(TrayId),
    /// A command for one tray of a stack.
    On(Command, TrayId),
    Sight(Vec<Sighting>),
    /// Another order of a stack, from the top.
    Restack(PlaceId, Vec<TrayId>),
    /// Which tray really stands at a place, and what became of a missing one.
    Really(Ask),
    PrintLabel(TrayId),
    /// What stood beside a tray.
    Beside(TrayId),
    /// From the stock to the customer.
    Sold(sold::Ask),
    /// What was held back, and how long it kept.
    Score(score::Ask),
    /// One of the records of the room.
    Record(records::Page),
    /// A step from complaints, traces, recalls.
    Answer(answer::Ask),
    ThrowFor(TrayId, LossReason),
    /// All of it: what became of tray, cover and weight.
    GearFor(TrayId, LossReason),
    Throw(TrayId, LossReason, Gear, Option<Cleanup>),
    /// A step from the list of suspects.
    Suspect(suspects::Ask),
    LosePart(TrayId, LossReason, i64),
    Cut(Vec<TrayId>),
    /// The harvest of these trays.
    Harvest(Vec<TrayId>),
    Do(Command),
    /// Begin with what stands on the racks.
    AskStanding,
    Standing(standing::Answers),
    Stand(standing::Answers, Option<SeedLotId>),
    Nothing,
    Breaches,
    /// One breach: decide about it.
    Breach(BreachId),
    /// One hold: decide about it.
    Hold(HoldId),
    /// Hold or trace what has no label.
    By(Then),
    Section(settings::Section),
    /// A record: edit it, or read its story.
    Story(Of, String),
    /// What a germination test came to.
    GermTest(GermTestId),
    /// The sum behind a lot's shelf life.
    Countdown(LotId),
    Form(FormKind),
    AddStarter(String),
    /// These hands are at the rack.
    Hands(PersonId),
    Quit,
}

/// Cursor keys and Enter in a list.
pub fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let Some(Screen::Menu(menu)) = model.screens.last_mut() else { return vec![] };
    match command {
        Command::Open => {
            let at = menu.at;
            take(model, at)
        }
        Command::Back => {
            model.back();
            vec![]
        }
        _ => {
            menu.walk(command);
            vec![]
        }
    }
}

/// Takes a line: the list goes, and its meaning is carried out on what lay below.
#[expect(clippy::too_many_lines, reason = "one line for each meaning")]
pub fn take(model: &mut Model, n: usize) -> Vec<Effect> {
    let Some(Screen::Menu(menu)) = model.top() else { return vec![] };
    let Some(item) = menu.items.get(n).cloned() else { return vec![] };
    if let Some(why) = item.bar {
        // Enter after that takes no other line by surprise
        if let Some(Screen::Menu(menu)) = model.screens.last_mut() {
            menu.at = n;
        }
        model.refuse(why);
        return vec![];
    }
    model.back();
    match item.value {
        Pick::Resume(id, mode) => walk::open(model, id, mode),
        Pick::Begin(mode, rack) => act(Action::StartWalk { mode, racks: rack.map(|rack| vec![rack]) }),
        Pick::Share(walk) => {
            share::open_list(model, &walk);
            vec![]
        }
        Pick::Take(walk, rack) => act(Action::TakeRacks { walk, racks: vec![rack] }),
        Pick::OneRack(rack) => {
            let menu = rack.map_or_else(|| racks(model), |rack| modes(Some(rack)));
            show(model, menu)
        }
        Pick::Check(answer) => check::answer(model, answer),
        Pick::Fault(fault) => choose(model, |chosen| chosen.faults = chosen.faults.toggled(fault)),
        Pick::Roots(roots) => choose(model, |chosen| chosen.roots = Some(roots)),
        Pick::Skip(why) => skip(model, why),
        Pick::Go { tray, to, stage } => act(Action::Move { walk: model.walk_id(), tray, to, stage }),
        Pick::GoMany(moves, stage) => act(Action::MoveMany { moves, stage: Some(stage) }),
        Pick::On(command, tray) => room::on_tray(model, command, tray),
        Pick::Sight(trays) => whereabouts::sight(model, trays),
        Pick::Restack(place, trays) => act(Action::Restack { place, trays }),
        Pick::Really(ask) => whereabouts::asked_for(model, ask),
        Pick::Record(page) => records::open(model, page),
        Pick::Answer(ask) => answer::open(model, ask),
        Pick::Sold(ask) => sold::open(model, ask),
        Pick::Score(ask) => score::ask(model, ask),
        Pick::Beside(tray) => beside::open(model, tray),
        Pick::PrintLabel(tray) => vec![Effect::PrintLabel(tray)],
        Pick::ToLight(tray) => with(model, tray, tray_menus::to_light),
        Pick::ThrowFor(tray, reason) => with(model, tray, |_, tray| tray_menus::how_much(tray, reason)),
        Pick::GearFor(tray, reason) => with(model, tray, |_, tray| tray_menus::gear(tray, reason)),
        Pick::LosePart(tray, reason, mats) => {
            let walk = model.walk_id();
            act(Action::LosePart { walk, tray, mats, reason })
        }
        Pick::RootsMenu(tray) => with(model, tray, |_, tray| tray_menus::roots_too(tray)),
        Pick::Suspect(ask) => suspects::asked(model, ask),
        Pick::Throw(tray, reason, gear, cleanup) => {
            let walk = model.walk_id();
            let look = chosen::last_look(model, tray);
            let note = model.walk().filter(|_| look.is_none()).and_then(|state| state.chosen_for(tray).note);
            let throw = Action::Throw { walk, tray, reason, gear, cleanup, note };
            look.into_iter().chain([throw]).map(|action| Effect::Act(Box::new(action))).collect()
        }
        Pick::AskStanding => {
            standing::ask(model, None);
            vec![]
        }
        Pick::Standing(answers) => {
            standing::answered(model, answers);
            vec![]
        }
        Pick::Stand(answers, lot) => standing::action(model, answers, lot),
        Pick::Nothing => vec![],
        Pick::Cut(trays) => act(Action::Cut { trays }),
        Pick::Harvest(trays) => {
            cut::open(model, trays);
            vec![]
        }
        Pick::Do(command) => on_command(model, command),
        Pick::Breaches => {
            breach::open_list(model);
            vec![]
        }
        Pick::Breach(id) => {
            breach::open(model, id);
            vec![]
        }
        Pick::Hold(id) => {
            hold::open(model, id);
            vec![]
        }
        Pick::By(then) => {
            let menu = hold::by(model, then);
            show(model, menu)
        }
        Pick::Section(section) => {
            let menu = settings::section(model, section);
            show(model, menu)
        }
        Pick::GermTest(id) => {
            germ_test::read(model, id);
            vec![]
        }
        Pick::Countdown(lot) => {
            countdown::open(model, lot);
            vec![]
        }
        Pick::Story(of, title) => story::open(model, of, &title),
        Pick::Form(kind) => {
            form_page::open(model, kind);
            let mut effects = form_page::preview(model);
            effects.extend(meeting::whose(model));
            effects
        }
        Pick::Hands(who) => {
            hands::take(model, who);
            vec![]
        }
        Pick::Quit => on_command(model, Command::Quit),
        Pick::AddStarter(letters) => act(Action::AddStarterCrop { letters }),
    }
}

fn act(action: Action) -> Vec<Effect> {
    vec![Effect::Act(Box::new(action))]
}

fn show(model: &mut Model, menu: Menu<Pick>) -> Vec<Effect> {
    model.open(Screen::Menu(menu));
    vec![]
}

fn with(model: &mut Model, tray: TrayId, menu: impl FnOnce(&Model, &TrayCard) -> Menu<Pick>) -> Vec<Effect> {
    let Some(card) = model.tray_card(tray).cloned() else { return vec![] };
    let menu = menu(model, &card);
    show(model, menu)
}

fn choose(model: &mut Model, change: impl FnOnce(&mut chosen::Chosen)) -> Vec<Effect> {
    if let Some(state) = model.walk_mut()
        && let Some(at) = state.at
    {
        state.choose(at, change);
    }
    vec![]
}

fn skip(model: &mut Model, why: Skip) -> Vec<Effect> {
    let Some(tray) = model.walk_tray() else { return vec![] };
    let tray = tray.id;
    let chosen = model.walk().map(|state| state.chosen_for(tray)).unwrap_or_default();
    if chosen.beside_note() {
        model.refuse("Something was chosen for this tray: give a grade, Enter writes it, u takes it back.");
        return vec![];
    }
    let walk = model.walk_id();
    let note = chosen.note;
    act(Action::Look(Box::new(Look { walk, skip: Some(why), note, ..Look::of(tray) })))
}

/// Marks a tray ready to cut.
pub fn ready(tray: &TrayCard) -> Vec<Effect> {
    act(Action::Move { walk: None, tray: tray.id, to: None, stage: Some(Stage::Ready) })
}

/// How to walk: go on with today's walk if it is not done, or begin one.
pub fn offer_walk(model: &mut Model, newest: Vec<Walk>) {
    let today = model.today();
    let mut menu = modes(None);
    let (sheets, walks): (Vec<Walk>, Vec<Walk>) = newest.into_iter().partition(|walk| walk.seen.paper);
    let resume = |walk: &Walk, label: String| {
        let open = walk.open_stops(model.board.trays.iter(), today, model.who).len();
        let hint = format!("{}, {open} to do", share::done(model, walk));
        (open > 0).then(|| Item::new(label, Pick::Resume(walk.id, walk.mode)).hint(hint))
    };
    let begun = walks.iter().flat_map(|walk| {
        let begun = model.now.local(walk.started).format("%H:%M");
        let own = resume(walk, format!("go on with the walk of {begun} ({})", walk.mode.shown()));
        own.into_iter().chain(share::line(model, walk))
    });
    menu.items.splice(0..0, begun);
    let due = |mode: Mode| model.board.trays.iter().filter(|tray| mode.stops_at(tray, today)).count();
    for item in &mut menu.items {
        if let Pick::Begin(mode, _) = item.value {
            let n = due(mode);
            item.hint = format!("{} due", counted(n, "tray"));
            item.bar = (n == 0).then(|| "No tray is due on such a walk now.".to_string());
        }
    }
    menu.items.push(Item::new("one rack only", Pick::OneRack(None)));
    menu.items
        .push(Item::new("type in a paper sheet", Pick::Form(FormKind::PaperSheet)).hint("today --sheet prints one"));
    menu.items.extend(sheets.iter().filter_map(|walk| resume(walk, format!("go on with {}", walk.sheet_words()))));
    menu.at = menu.items.iter().position(|item| item.bar.is_none()).unwrap_or(0);
    model.open(Screen::Menu(menu));
}

fn modes(rack: Option<RackId>) -> Menu<Pick> {
    let items = Mode::ALL.iter().map(|mode| Item::new(mode.shown(), Pick::Begin(*mode, rack))).collect();
    Menu::new("Walk", items).intro("Clean hands or fresh gloves. Suspect trays last, then change gloves.")
}

fn racks(model: &Model) -> Menu<Pick> {
    let items = model
        .board
        .racks
        .iter()
        .map(|rack| Item::new(format!("rack {}", rack.name), Pick::OneRack(Some(rack.id))))
        .collect();
    Menu::new("Which rack?", items)
}
