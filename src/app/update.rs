//! The only function that changes the model.

mod loaded;

use std::time::Duration;

use super::command::Command;
use super::effect::{Effect, Failure, Msg, Query};
use super::hold;
use super::key::Key;
use super::keys::{self, Context};
use super::labels;
use super::menu::{Item, Menu};
use super::model::{Model, SMALLEST, Screen};
use super::scan::Heard;
use super::screens::forms::FormKind;
use super::screens::pick::Pick;
use super::screens::{
    air, answer, breach, calls, cause, chosen, cold, cut, find, form_page, hands, help, lock, meeting, period, pick,
    room, seed_page, seed_shelf, setup, share, shelf_life, standing, stock, story, suspects, trace, walk, week,
};
use super::second_copy;
use crate::domain::action::{Action, Done};
use crate::domain::code::Code;
use crate::domain::id::{SeedLotId, WalkId};
use crate::domain::time::Now;

/// Takes one message at one moment; says what the outside is to do.
pub fn update(model: &mut Model, msg: Msg, now: Now) -> Vec<Effect> {
    let new_day = now.day() != model.today();
    model.now = now;
    let mut effects = match msg {
        Msg::Key(key, at) => on_key(model, key, at),
        Msg::Paste(_) if matches!(model.top(), Some(Screen::Locked(_))) || hands::ask(model, true) => vec![],
        Msg::Paste(text) => paste(model, &text),
        Msg::Resize(width, height) => {
            model.size = (width, height);
            vec![]
        }
        Msg::Quiet => {
            let heard = model.scan.silence();
            let mut effects = labels::heard(model, heard);
            effects.extend(second_copy::quiet(model));
            hands::ask(model, false);
            effects
        }
        Msg::OthersWrote => air::reload_all(model),
        Msg::Loaded(loaded) => loaded::on_loaded(model, loaded),
        Msg::LoadFailed(failure) => {
            model.fail(&failure);
            vec![]
        }
        Msg::Previewed(result) => {
            let stale = matches!(&result, Err(Failure::Rule(refusal)) if refusal.rule == "stale");
            form_page::previewed(model, result);
            if stale { air::reload_all(model) } else { vec![] }
        }
        Msg::Traced(result) => {
            trace::came(model, result);
            vec![]
        }
        Msg::Printed(Ok(path)) => {
            model.say(format!("The page is in {path}: open it in a browser and print. Paper fails when wet."));
            vec![]
        }
        Msg::Printed(Err(why)) | Msg::HandedOver(Err(why)) => {
            model.refuse(why);
            vec![]
        }
        Msg::RecordsPrinted(result) => period::printed(model, result),
        Msg::Proved(result) => {
            period::proved(model, result);
            vec![]
        }
        Msg::HandedOver(Ok((page, marks))) => {
            trace::handed_over(model, &page, &marks);
            vec![]
        }
        Msg::Acted(action, result) => acted(model, &action, result),
        Msg::LoggerOpened(sensor, result) => air::opened(model, sensor, result),
        Msg::Imported(parsed, result) => air::imported(model, &parsed, result),
        Msg::Copied { newest, result } => {
            second_copy::came(model, newest, result);
            vec![]
        }
        Msg::Keep => {
            keep_drafts(model);
            vec![Effect::KeepDrafts]
        }
        Msg::Stop => {
            keep_drafts(model);
            vec![Effect::KeepDrafts, Effect::Quit]
        }
    };
    if new_day {
        effects.extend(reload(model));
    }
    effects.extend(air::due(model));
    walk::remind(model);
    effects
}

/// Everything but the air that may have changed under the screens that are open.
pub fn reload(model: &Model) -> Vec<Effect> {
    let mut effects = [Query::Board, Query::Stock, Query::Goods].map(Effect::Load).to_vec();
    for screen in &model.screens {
        match screen {
            Screen::Walk(state) => effects.extend(state.walk.as_ref().map(|walk| Effect::Load(Query::Walk(walk.id)))),
            Screen::WalkEnd(end) => effects.push(Effect::Load(Query::Walk(end.walk.id))),
            Screen::Story(state) => effects.push(Effect::Load(Query::History(state.of, None))),
            Screen::Trace(state) => effects.push(Effect::Trace(state.start.clone(), state.way)),
            Screen::SeedShelf(_) => effects.push(Effect::Load(Query::Shelf)),
            Screen::SeedPage(state) => effects.push(Effect::Load(Query::SeedPage(state.lot))),
            Screen::Calls(_) => effects.push(Effect::Load(Query::Answers)),
            Screen::Week(state) => effects.push(Effect::Load(Query::Week(state.period))),
            _ => {}
        }
    }
    effects.extend(meeting::entry(model).map(|entry| Effect::Load(Query::Entry(entry))));
    effects
}

fn on_key(model: &mut Model, key: Key, at: Duration) -> Vec<Effect> {
    let again = model.hold.again(key, at);
    if key == Key::Ctrl('c') {
        keep_drafts(model);
        return vec![Effect::KeepDrafts, Effect::Quit];
    }
    if let Some(Screen::Locked(_)) = model.top() {
        model.notice = None;
        lock::key(model, key, again);
        return vec![];
    }
    // nobody sees what a key would write
    if model.size.0 < SMALLEST.0 || model.size.1 < SMALLEST.1 {
        return vec![];
    }
    if hands::ask(model, true) {
        return vec![];
    }
    if model.typing() {
        let answers = matches!(model.top(), Some(Screen::Form(page)) if page.asks());
        if again && answers && matches!(key, Key::Enter | Key::Ctrl('s')) {
            drop_repeat(model, key);
            return vec![];
        }
        model.notice = None;
        let mut effects = match model.top() {
            Some(Screen::Setup(_)) => setup::key(model, key),
            Some(Screen::Find(_)) => find::key(model, key),
            _ => form_page::key(model, key),
        };
        // a field was left: what is typed so far is kept
        if model.typing() && matches!(key, Key::Enter | Key::Tab | Key::BackTab | Key::Up | Key::Down) {
            keep_drafts(model);
            effects.push(Effect::KeepDrafts);
        }
        return effects;
    }
    match model.scan.key(key) {
        Heard::NotMine => {}
        heard => return labels::heard(model, heard),
    }
    model.notice = None;
    let context = model.context();
    if let (Some(Screen::Menu(menu)), Key::Char(letter)) = (model.top(), key)
        && let Some(n) = menu.by_letter(letter)
    {
        if again {
            drop_repeat(model, key);
            return vec![];
        }
        return pick::take(model, n);
    }
    let command = keys::command(context, key);
    if let (None, Some(Screen::Help(state))) = (command, model.screens.last_mut())
        && help::filter(state, key)
    {
        return vec![];
    }
    if let Some(command) = command {
        // Enter takes the line of a list, and lists lead to lists
        if again && (hold::writes(command) || (context == Context::Menu && command == Command::Open)) {
            drop_repeat(model, key);
            return vec![];
        }
        return on_command(model, command);
    }
    let help = keys::key_of(context, Command::Help).or_else(|| keys::key_of(context, Command::More));
    let more = help.map_or_else(String::new, |help| format!("; {} shows every key", help.name()));
    model.refuse(format!("{} does nothing here{more}.", key.name()));
    vec![]
}

fn drop_repeat(model: &mut Model, key: Key) {
    model.refuse(format!("Held down? The second {} was dropped.", key.name()));
}

/// Carries out a command on the screen that is on top.
pub fn on_command(model: &mut Model, command: Command) -> Vec<Effect> {
    match (command, model.top()) {
        (Command::Help, _) => {
            let context = model.context();
            model.open(Screen::Help(help::State::new(context)));
            vec![]
        }
        (Command::Find, _) => {
            let context = model.context();
            model.open(Screen::Find(find::State::new(context)));
            vec![]
        }
        (Command::Undo, _) => {
            if chosen::unchoose(model) {
                vec![]
            } else {
                vec![Effect::Act(Box::new(Action::Undo))]
            }
        }
        (Command::Lock, _) => {
            lock::open(model);
            vec![]
        }
        (_, Some(Screen::Room(_))) => room::command(model, command),
        (_, Some(Screen::Walk(_))) => walk::command(model, command),
        (_, Some(Screen::SeedShelf(_))) => seed_shelf::command(model, command),
        (_, Some(Screen::SeedPage(_))) => seed_page::command(model, command),
        (_, Some(Screen::Suspects(_))) => suspects::command(model, command),
        (_, Some(Screen::Stock(_))) => stock::command(model, command),
        (_, Some(Screen::ShelfLife(_))) => shelf_life::command(model, command),
        (_, Some(Screen::Story(_))) => story::command(model, command),
        (_, Some(Screen::Trace(_))) => trace::command(model, command),
        (_, Some(Screen::Calls(_))) => calls::command(model, command),
        (_, Some(Screen::Cause(_))) => cause::command(model, command),
        (_, Some(Screen::Week(_))) => week::command(model, command),
        (_, Some(Screen::Menu(_))) => pick::command(model, command),
        (Command::StartWalk, Some(Screen::WalkEnd(end))) => {
            let walk = end.walk.clone();
            share::open_list(model, &walk);
            vec![]
        }
        (_, Some(Screen::Help(_) | Screen::WalkEnd(_) | Screen::Why(_) | Screen::Beside(_) | Screen::Text(_))) => {
            help::command(model, command);
            vec![]
        }
        (_, Some(Screen::Setup(_) | Screen::Form(_) | Screen::Find(_) | Screen::Locked(_)) | None) => vec![],
    }
}

fn paste(model: &mut Model, text: &str) -> Vec<Effect> {
    if let Some(Screen::Find(state)) = model.screens.last_mut() {
        find::paste(state, text);
        return vec![];
    }
    if model.typing() {
        return form_page::paste(model, text);
    }
    // outside text fields a paste is a scan or nothing
    if let Ok(code) = Code::parse(text.trim()) {
        return labels::scanned(model, &code);
    }
    model.refuse("Pasted text goes into a text field; here it does nothing.");
    vec![]
}

fn acted(model: &mut Model, action: &Action, result: Result<Done, Failure>) -> Vec<Effect> {
    let done = match result {
        Ok(done) => done,
        Err(failure) => {
            walk::refused(model);
            // what someone else changed meanwhile is fetched, so that the form shows both
            let stale = matches!(&failure, Failure::Rule(refusal) if refusal.rule == "stale");
            match model.screens.last_mut() {
                Some(Screen::Form(page)) => form_page::refused(page, &failure),
                Some(Screen::Setup(state)) => setup::refused(state, &failure),
                _ => model.fail(&failure),
            }
            if let Failure::Rule(refusal) = &failure {
                breach::offer(model, action, refusal);
            }
            return if stale { air::reload_all(model) } else { vec![] };
        }
    };
    model.say(done.sentence.clone());
    let mut effects = Vec::new();
    match action {
        Action::SetUp(_) => {
            model.screens = vec![Screen::Room(room::State::default())];
            model.drafts.clear();
            effects.push(Effect::KeepDrafts);
            let items = vec![
                Item::new("the racks are empty", Pick::Nothing),
                Item::new("trays stand there already: enter them shelf by shelf", Pick::AskStanding),
            ];
            model.open(Screen::Menu(Menu::new("What is standing now?", items)));
        }
        Action::ReceiveSeedLot(_) => {
            for screen in &mut model.screens {
                if let Screen::SeedShelf(state) = screen {
                    state.wanted = done.made.map(SeedLotId);
                }
            }
        }
        _ => {}
    }
    let to_cut = cut::checked(model, action);
    if matches!(model.top(), Some(Screen::Form(_))) {
        form_page::saved(model);
        if matches!(action, Action::Already { .. }) {
            // the form that was refused lies below: its entry is in the book now
            form_page::saved(model);
        }
        effects.push(Effect::KeepDrafts);
    }
    let action = match action {
        Action::Already { action, .. } => action,
        action => action,
    };
    if let Action::StartWalk { .. } = action {
        walk::begun(model, &done);
    }
    if let Action::TakeRacks { walk, racks } = action {
        effects.extend(share::took(model, *walk, racks));
    }
    stock::acted(model, action, &done);
    calls::acted(model, action);
    effects.extend(answer::acted(model, action, &done));
    effects.extend(walk::acted(model, action, &done));
    effects.extend(reload(model));
    effects.extend(air::told_by(action).then_some(Effect::Load(Query::Air)));
    effects.extend(cold::told_by(action).then_some(Effect::Load(Query::Cold)));
    if let Action::Standing(new) = action {
        // the board still shows the room before: the entry names its own places
        standing::saved(model, new);
    }
    if let Some(trays) = to_cut {
        form_page::open(model, FormKind::Harvest(trays));
    }
    if let Action::StartWalk { .. } = action
        && let Some(id) = done.made
    {
        effects.push(Effect::Load(Query::Walk(WalkId(id))));
    }
    effects
}

/// Copies what is typed but not saved into the drafts.
pub(super) fn keep_drafts(model: &mut Model) {
    let typed: Vec<(String, std::collections::BTreeMap<String, String>)> = model
        .screens
        .iter()
        .filter_map(|screen| match screen {
            Screen::Form(page) if page.form.touched() => Some((page.draft_name(), page.form.draft())),
            Screen::Setup(state) if state.form.touched() => Some(("setup".to_string(), state.form.draft())),
            _ => None,
        })
        .collect();
    model.drafts.extend(typed);
}
