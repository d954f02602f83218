//! A recipe, a bottle and a treatment of the demo, all invented and marked so: nothing of it is a dose for anyone.

use super::Room;
use crate::domain::action::Action;
use crate::domain::id::{MaterialLotId, MixId, RecipeId, TrayId};
use crate::domain::measure::{Amount, Measure};
use crate::domain::mix::{NewMaterialLot, NewMix, NewRecipe};
use crate::domain::time::Day;
use crate::domain::tray::TrayCard;
use crate::domain::treatment::{Listed, NewTreatment};
use crate::store::error::StoreError;

const RECIPE: &str = "demo rinse (invented)";
const INGREDIENT: &str = "demo salt (invented)";
/// Trays treated, of one batch.
const TRAYS: usize = 2;

impl Room<'_> {
    /// On the last day before today: a bottle of the invented rinse, and two young trays that got of it.
    pub(super) fn spray(&mut self, day: Day) -> Result<(), StoreError> {
        let board = self.store.board()?;
        let soon = day + chrono::Duration::days(3);
        let young = |tray: &&TrayCard| !tray.ready(soon) && !tray.doubtful() && tray.sown < day;
        let Some(first) = board.trays.iter().find(young) else { return Ok(()) };
        let batch = board.trays.iter().filter(young).filter(|tray| tray.sowing == first.sowing);
        let trays: Vec<TrayId> = batch.take(TRAYS).map(|tray| tray.id).collect();

        let mut book = self.notebook(day, 14 * 60);
        let parts = vec![(INGREDIENT.to_string(), Amount { milli: 2000, measure: Measure::Gram })];
        book.write(0, Action::AddRecipe(Box::new(NewRecipe { name: RECIPE.into(), ml: 1000, life_d: 7, parts })));
        let (name, code) = (INGREDIENT.to_string(), "D-100".to_string());
        book.write(60, Action::ReceiveMaterial(NewMaterialLot { name, code, received: day, use_by: None }));
        let made = self.commit(&book)?;
        let [Some(recipe), Some(lot)] = [0, 1].map(|n: usize| made.get(n).and_then(|done| done.made)) else {
            return Ok(());
        };
        let lots = vec![Some(MaterialLotId(lot))];
        let mut book = self.notebook(day, 0);
        book.write(300, Action::PrepareMix(NewMix { recipe: RecipeId(recipe), version: 1, ml: 500, lots }));
        let mix = self.commit(&book)?.first().and_then(|done| done.made).map(MixId);

        let mut book = self.notebook(day, 0);
        book.at = book.at.plus(chrono::Duration::minutes(4));
        let treated = NewTreatment {
            trays,
            mix,
            product: String::new(),
            reg_no: None,
            at: book.at.instant(),
            ml: Some(40),
            purpose: "an invented example".into(),
            listed: Listed::Yes,
            wait_h: 48,
            reentry_h: 2,
        };
        book.write(0, Action::Treat(Box::new(treated)));
        self.commit(&book)?;
        Ok(())
    }
}
