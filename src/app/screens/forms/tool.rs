//! A knife, a table or a scale: another name, or out of use.

use crate::app::form::{Field, Form, Values};
use crate::app::model::Model;
use crate::domain::action::Action;
use crate::domain::id::ToolId;
use crate::domain::tool::NAME_MAX;

pub(super) fn build(model: &Model, id: ToolId) -> Form {
    let known = model.goods.tool(id);
    let name = known.map_or("", |tool| tool.name.as_str());
    let used = if known.is_some_and(|tool| tool.retired) { "no" } else { "yes" };
    Form::new(
        format!("Tool: {name}"),
        model.today(),
        vec![
            Field::text("name", "name", NAME_MAX).required().starting(name).help("As it is written on it, no comma."),
            Field::yes_no("used", "still used").starting(used).help("Named again at a cut or a run, it comes back."),
        ],
    )
}

pub(super) fn action(id: ToolId, rev: i64, values: &Values) -> Action {
    Action::EditTool { tool: id, name: values.text("name").trim().to_string(), retired: !values.yes("used"), rev }
}
