//! A read model came: into the model, and on to the screens that show it.

use crate::app::effect::{Effect, Loaded};
use crate::app::model::Model;
use crate::app::screens::{
    answer, beside, cause, form_page, meeting, pick, room, score, seed_page, seed_shelf, stock, story, text, walk, week,
};

pub(super) fn on_loaded(model: &mut Model, loaded: Loaded) -> Vec<Effect> {
    match loaded {
        Loaded::Board(board) => {
            model.board = *board;
            if model.who.is_none() {
                model.who = model.board.people.iter().find(|person| !person.retired).map(|person| person.id);
            }
            walk::refresh(model);
            let mut effects = room::refresh(model);
            effects.extend(meeting::book_came(model));
            effects
        }
        Loaded::Stock { lots, crops } => {
            seed_shelf::keep(model);
            model.lots = lots;
            model.crops = crops;
            form_page::stock_came(model);
            seed_shelf::stock_came(model);
            meeting::book_came(model)
        }
        Loaded::Goods(goods) => {
            model.goods = *goods;
            form_page::stock_came(model);
            let mut effects = stock::goods_came(model);
            effects.extend(meeting::book_came(model));
            effects
        }
        Loaded::Shelf(shelf) => seed_shelf::came(model, *shelf),
        Loaded::SeedPage(page) => seed_page::loaded(model, *page),
        Loaded::Account(lot, account) => {
            stock::account_came(model, lot, account);
            vec![]
        }
        Loaded::Lot(code, found) => stock::found(model, &code, found.map(|found| *found)),
        Loaded::Timeline(timeline) => {
            if let Some(room) = model.room_mut() {
                room.timeline = Some(*timeline);
            }
            vec![]
        }
        Loaded::Air(sensors) => {
            model.air = sensors;
            model.air_at = model.now;
            meeting::book_came(model)
        }
        Loaded::Cold(cold) => {
            model.cold = *cold;
            form_page::stock_came(model);
            meeting::book_came(model)
        }
        Loaded::Scores(ask, scores) => {
            model.scores = *scores;
            score::open(model, ask);
            vec![]
        }
        Loaded::Answers(answers) => {
            model.answers = *answers;
            form_page::stock_came(model);
            answer::came(model)
        }
        Loaded::Page(title, lines) => {
            text::open(model, title, lines);
            vec![]
        }
        Loaded::Drawn(lot) => answer::drawn(model, lot),
        Loaded::Cause(counted) => {
            cause::loaded(model, *counted);
            vec![]
        }
        Loaded::Week(told) => {
            week::loaded(model, *told);
            vec![]
        }
        Loaded::Beside(found) => {
            beside::loaded(model, found);
            vec![]
        }
        Loaded::Walk(walk) => walk::loaded(model, walk),
        Loaded::NewestWalks(newest) => {
            pick::offer_walk(model, newest);
            vec![]
        }
        Loaded::LastHands { record, who } => {
            meeting::hands_came(model, record, who.as_deref());
            vec![]
        }
        Loaded::Entry(entry) => {
            if meeting::entry(model) == Some(entry.id) {
                model.entry = Some(*entry);
                return meeting::book_came(model);
            }
            story::entry_came(model, *entry);
            vec![]
        }
        Loaded::History { of, older, lines } => {
            story::loaded(model, of, older, lines);
            vec![]
        }
    }
}
