//! Every screen of the program, each reached by keys from a book of twelve trays.

use super::{Seat, air, answer, cause, cold, meeting, stock, twelve, week};
use crate::book::Book;

/// A screen's name and the keys that lead to it from the room, or from the first question of a new book.
pub struct Shown {
    pub name: &'static str,
    empty: bool,
    keys: &'static str,
    /// What happens after the keys.
    then: Option<fn(&mut Seat)>,
}

const fn of(name: &'static str, keys: &'static str) -> Shown {
    Shown { name, empty: false, keys, then: None }
}

const fn new(name: &'static str, keys: &'static str) -> Shown {
    Shown { name, empty: true, keys, then: None }
}

/// The four that are also looked at narrow and wide.
pub const MAIN: &[Shown] = &[of("room", ""), WALK, of("seed_shelf", "e"), SOW];

const WALK: Shown = of("walk", "w a");

/// Sowing two trays of radish, all of it filled in.
const SOW: Shown = of("form_sow", "s radish Enter 2 Enter 01R");

/// 450 g of peas put in water this minute.
const SOAKING: &str = "e Down k Tab 450 C-s";

/// Ounces and °F chosen.
const US: &str = "x a Tab Tab Right C-s";

/// The check made and the harvest open.
const CUT: &str = "c yyyy soap Enter";

/// What was cut, in stock.
const HARVESTED: &str = "c yyyy soap Enter 360 Enter C-s Space";

/// A germination test that is over, with what was counted of a hundred seeds; and one laid out a week ago.
const GERM: &str = "e g z C-u -7 Tab Tab Tab Tab";
const LAID_OUT: &str = "e g z C-u -7 C-s";

/// Goes on with a test: types its counts, or first what leads to where they are typed.
fn counted(seat: &mut Seat, keys: &str) {
    if seat.session.model.form().is_some() {
        seat.type_in("4: 12 9 14 11, 7: 3 2 1 2").press("Tab y Tab 8 Tab Tab 38");
        seat.press(keys);
    } else {
        seat.press(keys).press("Tab");
        seat.type_in("20 18 21 24");
    }
}

/// The rest.
pub const OTHERS: &[Shown] = &[
    of("room_empty_place", "Down Down Right Right"),
    of("room_suspect", "n n"),
    of("suspects", "p"),
    of("suspect_decisions", "p Enter"),
    of("form_watch", "p Enter w"),
    of("menu_throw_bad", "p Enter t j"),
    of("walk_gloves", "w a T0007-K Enter"),
    of("room_pea", "Down"),
    of("walk_chosen", "w a j s e Esc o a"),
    of("walk_no_shelf", "w a r"),
    of("walk_water", "w d"),
    of("walk_covered", "w a T0008-I Enter"),
    of("walk_end", "w a f f v f k d k s d f"),
    of("menu_share", "x s a RM Enter Rita C-s Esc Esc w a Esc w s"),
    of("walk_shared", "x s a RM Enter Rita C-s Esc Esc w a Esc w s s"),
    of("walk_end_shared", "x s a RM Enter Rita C-s Esc Esc w a Esc w s s f"),
    of("story", "Down i"),
    of("log", "l"),
    of("room_forecast", "Down Down o s"),
    of("room_us", US),
    of("seed_shelf_us", "x a Tab Tab Right C-s e"),
    of("form_sow_us", "x a Tab Tab Right C-s s radish Enter 2 Enter 01R"),
    of("form_water_us", "x a Tab Tab Right C-s w a p"),
    of("why_moved", "Down Down o s v"),
    of("why", "v"),
    of("why_hidden", "Down v"),
    of("find", "f"),
    of("find_narrowed", "f tray"),
    of("help", "?"),
    of("help_filtered", "? wat"),
    of("menu_walk", "w"),
    of("menu_fuzz", "w a j"),
    of("menu_check", "w a j a"),
    of("menu_check_bad", "w a j s e p"),
    of("form_points", "x e"),
    of("menu_odd", "w a o"),
    of("menu_everything", "w a Space"),
    of("menu_move", "m"),
    of("menu_throw", "t"),
    of("menu_records", "r"),
    of("inspector", "r i"),
    of("form_period", "r i r"),
    of("form_sign_period", "r i s"),
    of("cause", "r t"),
    of("cause_losses", "t j Enter Right t j Enter r t l"),
    of("cause_why", "r t v"),
    Shown { name: "cause_few", empty: false, keys: "", then: Some(|seat| cause::after_complaints(seat, 3, "r t c")) },
    Shown { name: "cause_leads", empty: false, keys: "", then: Some(|seat| cause::after_complaints(seat, 5, "r t c")) },
    of("form_air", "r a 24 Tab 80"),
    of("form_light", "r l 304 Tab 16"),
    of("form_share", "r p 7 Tab 3"),
    of("mixes", "r m"),
    of("mixes_one", "r m x x rinse Tab 1000 Tab 7 Tab salt Tab 3/4 Space tsp Space us C-s r m z a Tab Right C-s r m"),
    of("menu_mix", "r m x x rinse Tab 1000 Tab 7 Tab salt Tab 3/4 Space tsp Space us C-s r m z a Tab Right C-s r m a"),
    of("recipes", "r m x x rinse Tab 1000 Tab 7 Tab salt Tab 3/4 Space tsp Space us C-s r m x"),
    of("form_recipe", "r m x x rinse Tab 1000 Tab 7 Tab salt Tab 1 Space tsp"),
    of("form_prepare", "r m x x rinse Tab 1000 Tab 7 Tab salt Tab 3/4 Space tsp Space us C-s r m z a"),
    of("ingredients", "r m c"),
    of("form_ingredient", "r m c z"),
    of("form_dilution", "r d 3 Tab 0.5 Tab 600"),
    of("form_dilution_above", "r d 3 Tab 5 Tab 600"),
    of("form_scale", "r m x x rinse Tab 1000 Tab 7 Tab salt Tab 3/4 Space tsp Space us C-s r x rinse Tab 2000"),
    of("form_keeping", "r e 1=23, Space 6=10, Space 20=3 Tab 4 Tab n 5d Tab 4 Tab 6h Tab 20"),
    of("form_keeping_froze", "r e 5=10 Tab 4 Tab y 3d Tab -1 Tab 90m Tab 25"),
    of("form_mean", "r n 2,2,5,8,8,8,8"),
    of("menu_treat", "z"),
    of("form_treat", "z a"),
    of("form_treat_unknown", "z a Tab rinse Tab Tab fuzz Tab not Tab y Tab 48 Tab 2"),
    of("room_treated", "z a Tab rinse Tab Tab fuzz Tab yes Tab 48 Tab 2 C-s"),
    of("room_to_clean", "t j Enter"),
    of("places_to_clean", "t j Enter Right t j Enter r z"),
    of("form_cleaned", "t j Enter r z a"),
    of("checks", "r c"),
    of("checks_add", "r c z"),
    of("checks_due", "r c z s r c a"),
    of("form_check", "r c z s r c a a"),
    of("form_check_kind", "r c z s r c a d"),
    of("room_checks", "r c z s"),
    of("menu_trial", "r f"),
    of("menu_trial_seen", "r f k e y p"),
    of("menu_trial_mould", "r f k e p"),
    of("form_soak", "e Down k"),
    of("form_clean", "e Down k Right Tab 450 Tab bleach Tab"),
    of("seed_shelf_soaking", SOAKING),
    of("menu_drain", "e Down k Tab 450 C-s k"),
    of("form_drain", "e Down k Tab 450 C-s k a 3"),
    of("soaks", "e Down k Tab 450 C-s k a 3 C-s k Tab 300 C-s Esc r k"),
    of("room_soak_due", "e Down k Tab 450 Tab Backspace Tab Backspace Backspace Backspace Backspace 5:00 C-s Esc"),
    of("form_sow_soaked", "e Down k Tab 450 C-s s pea Enter 2 Enter 02P Enter"),
    of("air", "r s"),
    of("form_sensor", "r s z"),
    of("air_sensor", "r s z door Enter lit C-s r s a a 20 Enter 90 C-s r s a"),
    of("form_reading", "r s z door Enter lit C-s r s a a 20 Enter 90"),
    of("form_logger", "r s z door Enter lit C-s r s a s"),
    Shown {
        name: "form_columns",
        empty: false,
        keys: "r s z door Enter lit C-s r s a s",
        then: Some(air::opens_a_file),
    },
    Shown { name: "left_out", empty: false, keys: "r s z door Enter lit C-s r s a s", then: Some(air::reads_a_file) },
    Shown { name: "room_damp", empty: false, keys: "Down", then: Some(air::was_damp) },
    of("water", "r w"),
    of("form_water_shelf", "r w b 5.5 Enter 6.5 C-s r w s 400 Enter 7.4"),
    of("form_bands", "r w b"),
    of("menu_skip", "w a k"),
    of("menu_whereabouts", "g"),
    of("menu_whereabouts_missing", "g a Right g"),
    of("menu_another_crop", "g s"),
    of("menu_another_tray", "g s a"),
    of("menu_another_and", "g s a a"),
    of("menu_missing", "g a Right g f"),
    of("room_missing", "g a"),
    of("beside", "Enter g"),
    of("room_stacked", "x d s 3 Enter cov Enter Enter 2 C-s Esc Esc Down Down m j Left"),
    of("menu_stack", "x d s 3 Enter cov Enter Enter 2 C-s Esc Esc Down Down m j Left i"),
    of("menu_cut", "Enter c"),
    of("form_cut_check", "c"),
    of("form_cut_check_bars", "c yyyn"),
    of("form_harvest", CUT),
    of("form_harvest_each", "c yyyy soap Enter BackTab Right Tab 118"),
    of("form_harvest_asked", "c yyyy soap Enter 4800 Enter"),
    of("form_harvest_suspect", "T0007-K Enter c yyyy soap Enter"),
    of("stock_empty", "Space"),
    of("menu_batches", "Space c"),
    of("stock", HARVESTED),
    of("menu_lot", "c yyyy soap Enter 360 Enter C-s Space Enter"),
    Shown { name: "form_pack", empty: false, keys: HARVESTED, then: Some(stock::may_be_packed) },
    Shown { name: "stock_packs", empty: false, keys: HARVESTED, then: Some(stock::is_packed) },
    Shown { name: "menu_deliver", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "d")) },
    Shown { name: "form_deliver", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "d a")) },
    Shown { name: "form_order", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "e s c")) },
    Shown { name: "form_load", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "r l")) },
    Shown { name: "menu_round", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "r l C-s r s")) },
    Shown {
        name: "form_brought_back",
        empty: false,
        keys: HARVESTED,
        then: Some(|seat| stock::sells(seat, "r l C-s r s k")),
    },
    Shown {
        name: "form_returned",
        empty: false,
        keys: HARVESTED,
        then: Some(|seat| stock::sells(seat, "d a C-s g a s")),
    },
    Shown { name: "menu_away", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "b")) },
    Shown { name: "form_product", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "n p s")) },
    Shown { name: "form_customer", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "n c s c")) },
    Shown { name: "todays_lists", empty: false, keys: HARVESTED, then: Some(|seat| stock::sells(seat, "t t")) },
    Shown {
        name: "hold_of_a_lot",
        empty: false,
        keys: HARVESTED,
        then: Some(|seat| stock::sells(seat, "d a C-s i o g r i t C-s Esc Esc d a")),
    },
    Shown { name: "cold_empty", empty: false, keys: "r o", then: None },
    Shown { name: "form_store", empty: false, keys: "r o z", then: None },
    Shown { name: "form_cold_rules", empty: false, keys: "r o x", then: None },
    Shown { name: "room_warm_night", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "")) },
    Shown { name: "cold_stores", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "Space s")) },
    Shown { name: "cold_store", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "Space s s")) },
    Shown {
        name: "cold_inside",
        empty: false,
        keys: "",
        then: Some(|seat| cold::after_the_night(seat, "Space s s w")),
    },
    Shown { name: "cold_past", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "Space s s t")) },
    Shown { name: "cold_spell", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "d a")) },
    Shown { name: "form_spell", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "d a d")) },
    Shown {
        name: "form_cold_reading",
        empty: false,
        keys: "",
        then: Some(|seat| cold::after_the_night(seat, "Space s s r 6")),
    },
    Shown { name: "form_put_away", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, "Space k")) },
    Shown { name: "shelf_life", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, ",")) },
    Shown { name: "shelf_life_trays", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, ", t")) },
    Shown { name: "countdown", empty: false, keys: "", then: Some(|seat| cold::after_the_night(seat, ", p Enter")) },
    of("form_sender", "x r"),
    of("answers_empty", "."),
    of("form_answering", ". v"),
    of("form_trace_code", ". t"),
    of("complaint_what", ". c"),
    of("complaint_ill", ". c i"),
    Shown { name: "form_complaint", empty: false, keys: "", then: Some(|seat| answer::called(seat, ". c m t")) },
    Shown { name: "form_complaint_ill", empty: false, keys: "", then: Some(|seat| answer::called(seat, ". c i y")) },
    Shown { name: "complaint", empty: false, keys: "", then: Some(|seat| answer::called(seat, answer::MOULD)) },
    Shown { name: "answers", empty: false, keys: "", then: Some(|seat| answer::called(seat, answer::LISTED)) },
    Shown {
        name: "form_complaint_lots",
        empty: false,
        keys: "",
        then: Some(|seat| answer::called(seat, answer::LOTS)),
    },
    Shown {
        name: "form_complaint_hold",
        empty: false,
        keys: "",
        then: Some(|seat| answer::called(seat, answer::HOLD)),
    },
    Shown { name: "trace_back", empty: false, keys: "", then: Some(|seat| answer::called(seat, answer::BACK)) },
    Shown { name: "trace_forward", empty: false, keys: "", then: Some(|seat| answer::called(seat, answer::FORWARD)) },
    Shown { name: "calls", empty: false, keys: "", then: Some(|seat| answer::called(seat, answer::CALLS)) },
    Shown { name: "form_contact", empty: false, keys: "", then: Some(|seat| answer::called(seat, answer::CONTACT)) },
    Shown { name: "exercise", empty: false, keys: "", then: Some(|seat| answer::called(seat, ". x y")) },
    Shown { name: "stock_promised", empty: false, keys: HARVESTED, then: Some(stock::is_promised) },
    Shown { name: "week", empty: false, keys: "", then: Some(|seat| week::opened(seat, "-")) },
    Shown { name: "week_crops", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- c")) },
    Shown { name: "week_crop", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- c Enter")) },
    Shown { name: "week_trays", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- c Enter Down Enter")) },
    Shown { name: "week_losses", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- Left l")) },
    Shown { name: "week_differs", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- s")) },
    Shown { name: "week_unusual", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- t")) },
    Shown { name: "week_sold", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- o")) },
    Shown { name: "week_why", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- v")) },
    Shown { name: "week_pictures", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- p")) },
    Shown { name: "week_empty", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- Right Right")) },
    Shown { name: "form_week", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- w")) },
    Shown { name: "form_week_sign", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- x")) },
    Shown { name: "form_baseline", empty: false, keys: "", then: Some(|seat| week::opened(seat, "- c b")) },
    Shown {
        name: "form_odd_weight",
        empty: false,
        keys: "",
        then: Some(|seat| week::opened(seat, "- c Enter Down Down Down Down Down Down Down m")),
    },
    of("form_currency", "x y"),
    of("settings", "x"),
    of("settings_crops", "x f"),
    of("form_sow_empty", "s"),
    of("form_receive", "e a radish Enter"),
    of("germ_tests", "e g"),
    of("form_germ_test", GERM),
    Shown { name: "form_germ_count", empty: false, keys: LAID_OUT, then: Some(|seat| counted(seat, "g a")) },
    Shown { name: "germ_result", empty: false, keys: GERM, then: Some(|seat| counted(seat, "C-s g a")) },
    Shown { name: "seed_shelf_failed", empty: false, keys: GERM, then: Some(|seat| counted(seat, "C-s")) },
    Shown { name: "form_sow_failed", empty: false, keys: GERM, then: Some(|seat| counted(seat, "C-s s radish Enter")) },
    of("form_supplier", "e p Tab Tab 14"),
    of("seed_page", "e Enter"),
    of("seed_page_end", "e Enter End"),
    of("menu_seed_page", "e Enter Enter"),
    of("form_seed_life", "r g 8 Tab 20 Tab 7 Tab 15"),
    of("form_count", "e c"),
    of("form_crop", "x f d"),
    of("form_water", "w a p"),
    of("form_note", "w a n"),
    of("menu_already", "n n Enter c a"),
    of("form_already", "n n Enter c a s"),
    of("room_breach", "n n Enter c a s late Enter"),
    of("breaches", "n n Enter c a s late Enter d"),
    of("breach", "n n Enter c a s late Enter d a"),
    of("form_decide", "n n Enter c a s late Enter d a a"),
    of("form_sheet", "w g"),
    of("walk_sheet", "w g AK Enter -1 Enter 06:10 Enter"),
    of("menu_people", "x s"),
    of("locked", "k Enter"),
    of("form_refused", "e a C-s"),
    Shown { name: "form_both", empty: false, keys: "x a", then: Some(meeting::both_rename_the_room) },
    new("setup_name", ""),
    new("setup_crops", "Enter Enter ak Enter Enter Enter Enter"),
];

impl Shown {
    pub fn seat(&self) -> Seat {
        let mut seat = Seat::at(if self.empty { Book::empty() } else { twelve::book() });
        seat.press(self.keys);
        if let Some(then) = self.then {
            then(&mut seat);
        }
        seat
    }
}

/// All of them.
pub fn all() -> impl Iterator<Item = &'static Shown> {
    MAIN.iter().chain(OTHERS)
}
