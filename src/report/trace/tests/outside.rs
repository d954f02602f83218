//! Every field that a document of EPCIS 2.0 has to carry (P: tracing.md T3), looked for in every event.

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDateTime};
use serde_json::Value;

use super::{Dossier, What, dossier, epcis};

/// Words of the core business vocabulary (memory).
const STEPS: &[&str] = &[
    "receiving",
    "creating_class_instance",
    "storing",
    "packing",
    "shipping",
    "retail_selling",
    "destroying",
    "other",
];
const DISPOSITIONS: &[&str] = &["in_progress", "in_transit", "retail_sold", "returned", "destroyed"];

/// What is wrong with a document, in words.
fn faults(document: &Value) -> Vec<String> {
    let mut faults = Vec::new();
    let mut want = |right: bool, what: String| faults.extend((!right).then_some(what));
    let context = document["@context"].as_array().cloned().unwrap_or_default();
    let first = context.first().and_then(Value::as_str).unwrap_or("");
    want(first.starts_with("https://ref.gs1.org/standards/epcis/"), "@context".into());
    want(document["type"] == "EPCISDocument", "type".into());
    want(document["schemaVersion"] == "2.0", "schemaVersion".into());
    let created = document["creationDate"].as_str().unwrap_or("");
    want(DateTime::parse_from_rfc3339(created).is_ok(), "creationDate".into());
    // a prefix of our own has to be explained
    let prefixes: BTreeSet<&String> = context.iter().filter_map(Value::as_object).flat_map(|map| map.keys()).collect();
    let Some(events) = document["epcisBody"]["eventList"].as_array() else {
        return vec!["epcisBody.eventList".into()];
    };
    let mut ids = BTreeSet::new();
    for (n, event) in events.iter().enumerate() {
        let mut want = |right: bool, what: &str| want(right, format!("event {n}: {what} in {event}"));
        let id = event["eventID"].as_str().unwrap_or("");
        want(id.len() == 45 && id.starts_with("urn:uuid:") && ids.insert(id.to_string()), "eventID");
        let time = event["eventTime"].as_str().unwrap_or("");
        let parsed = DateTime::parse_from_rfc3339(time);
        want(parsed.is_ok(), "eventTime");
        let offset = event["eventTimeZoneOffset"].as_str().unwrap_or("");
        want(time.ends_with(offset) && offset.len() == 6 && offset.starts_with(['+', '-']), "eventTimeZoneOffset");
        want(NaiveDateTime::parse_from_str(time, "%Y-%m-%dT%H:%M:%S").is_err(), "eventTime with offset");
        want(STEPS.contains(&event["bizStep"].as_str().unwrap_or("")), "bizStep");
        want(DISPOSITIONS.contains(&event["disposition"].as_str().unwrap_or("")), "disposition");
        let lists: &[&str] = match event["type"].as_str() {
            Some("ObjectEvent") => {
                want(["ADD", "OBSERVE", "DELETE"].iter().any(|action| event["action"] == *action), "action");
                &["quantityList"]
            }
            Some("TransformationEvent") => {
                want(event.get("action").is_none(), "no action");
                &["inputQuantityList", "outputQuantityList"]
            }
            _ => {
                want(false, "type");
                &[]
            }
        };
        for list in lists {
            let all = event[*list].as_array().cloned().unwrap_or_default();
            want(!all.is_empty(), list);
            for quantity in all {
                let class = quantity["epcClass"].as_str().unwrap_or("");
                let uri = class.starts_with("urn:x-rackwalk:NB:class:") || class.starts_with("https://id.gs1.org/01/");
                want(uri && !class.contains(' '), "epcClass");
                want(quantity["quantity"].is_number() && quantity["quantity"].as_f64() > Some(0.0), "quantity");
                want(["KGM", "H87"].iter().any(|unit| quantity["uom"] == *unit), "uom");
            }
        }
        for (name, value) in event.as_object().into_iter().flatten() {
            if let Some((prefix, _)) = name.split_once(':') {
                want(prefixes.contains(&prefix.to_string()) && value.is_string(), name);
            }
        }
        for uri in [&event["readPoint"]["id"], &event["bizTransactionList"][0]["bizTransaction"]] {
            want(
                uri.as_str().is_some_and(|uri| uri.starts_with("urn:x-rackwalk:") && !uri.contains([' ', '\n', '<'])),
                "uri",
            );
        }
        if let Some(wrong) = event.get("errorDeclaration") {
            let at = wrong["declarationTime"].as_str().unwrap_or("");
            want(DateTime::parse_from_rfc3339(at).is_ok(), "declarationTime");
            want(["did_not_occur", "incorrect_data"].iter().any(|reason| wrong["reason"] == *reason), "reason");
        }
    }
    faults
}

#[test]
fn every_event_carries_every_field_it_has_to() {
    let document = epcis::document(&dossier());
    assert_eq!(faults(&document), [] as [String; 0]);
    let text: Value = serde_json::from_str(&epcis::text(&dossier())).unwrap();
    assert_eq!(text, document);
}

#[test]
fn a_field_that_is_missing_or_wrong_is_noticed() {
    let document = epcis::document(&dossier());
    let spoiled = |pointer: &str, value: Value| {
        let mut document = document.clone();
        *document.pointer_mut(pointer).unwrap() = value;
        !faults(&document).is_empty()
    };
    for pointer in ["/@context", "/type", "/schemaVersion", "/creationDate", "/epcisBody/eventList"] {
        assert!(spoiled(pointer, Value::Null), "{pointer}");
    }
    let events = document["epcisBody"]["eventList"].as_array().unwrap();
    for (n, event) in events.iter().enumerate() {
        for name in [
            "type",
            "eventTime",
            "eventTimeZoneOffset",
            "action",
            "quantityList",
            "inputQuantityList",
            "outputQuantityList",
        ] {
            if event.get(name).is_some() {
                assert!(spoiled(&format!("/epcisBody/eventList/{n}/{name}"), Value::Null), "{name}");
            }
        }
    }
    let local = Value::String("2026-07-12T09:00:00".into());
    assert!(spoiled("/epcisBody/eventList/0/eventTime", local));
}

fn of<'a>(document: &'a Value, what: &str) -> Vec<&'a Value> {
    let events = document["epcisBody"]["eventList"].as_array().unwrap();
    events.iter().filter(|event| event["rackwalk:what"] == what).collect()
}

#[test]
fn what_becomes_something_else_is_a_transformation_with_amounts() {
    let document = epcis::document(&dossier());
    let run = of(&document, What::Packed.shown())[0];
    assert_eq!(run["type"], "TransformationEvent");
    assert_eq!(
        run["inputQuantityList"],
        serde_json::json!([
            { "epcClass": "urn:x-rackwalk:NB:class:PEA-260711-A-Z", "quantity": 0.9, "uom": "KGM" },
            { "epcClass": "urn:x-rackwalk:NB:class:RAD-260711-A-7", "quantity": 0.3, "uom": "KGM" },
        ])
    );
    assert_eq!(run["outputQuantityList"][0]["quantity"], 12);
    let harvest = of(&document, What::Harvested.shown())[0];
    assert_eq!(harvest["bizStep"], "creating_class_instance", "T3: sowing and harvest have no term of their own");
    assert_eq!(harvest["inputQuantityList"][0]["epcClass"], "urn:x-rackwalk:NB:class:B0001-Q");
    // nothing is known to have gone in: the batch begins
    let unknown = of(&document, What::Sown.shown()).into_iter().find(|e| e["type"] == "ObjectEvent").unwrap();
    assert_eq!(
        (unknown["action"].as_str(), unknown["eventTime"].as_str()),
        (Some("ADD"), Some("2026-06-30T00:00:00+02:00"))
    );
    assert_eq!(unknown["rackwalk:timeOfDay"], "not written down");
}

#[test]
fn a_correction_stands_beside_what_it_declares_wrong_and_nothing_is_deleted() {
    let document = epcis::document(&dossier());
    let wrong: Vec<&Value> = document["epcisBody"]["eventList"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|event| event.get("errorDeclaration").is_some())
        .collect();
    assert_eq!(wrong.len(), 2);
    let put_right = wrong.iter().find(|event| event["rackwalk:what"] == "sown").unwrap();
    let instead = put_right["errorDeclaration"]["correctiveEventIDs"][0].as_str().unwrap();
    let stands = of(&document, "sown").into_iter().find(|event| event["eventID"] == instead).unwrap();
    assert!(stands.get("errorDeclaration").is_none() && stands["eventID"] != put_right["eventID"]);
    assert_eq!(put_right["errorDeclaration"]["reason"], "incorrect_data");
    let never = wrong.iter().find(|event| event["rackwalk:what"] == "shipped").unwrap();
    assert_eq!(never["errorDeclaration"]["reason"], "did_not_occur");
    assert!(never["errorDeclaration"].get("correctiveEventIDs").is_none());
}

#[test]
fn an_event_keeps_its_identifier_from_one_hand_over_to_the_next() {
    let ids = |dossier: &Dossier| -> Vec<String> {
        let document = epcis::document(dossier);
        let events = document["epcisBody"]["eventList"].as_array().unwrap();
        events.iter().map(|event| event["eventID"].to_string()).collect()
    };
    let now = dossier();
    let mut later = now.clone();
    later.made_at += chrono::Duration::days(3);
    // put right in its hands only; the customer moved; the clock is set for winter
    for event in &mut later.events {
        event.stamp.put_right_by = Some(crate::domain::id::EntryId(99));
        event.to.address = "2 Quay".into();
        event.at = event.at.map(|at| at.with_timezone(&chrono::FixedOffset::east_opt(3600).unwrap()));
    }
    assert_eq!(ids(&now), ids(&later));
    later.events[0].quantity = None;
    assert_ne!(ids(&now)[2], ids(&later)[2]);
}

#[test]
fn only_a_licensed_number_is_a_gs1_identifier() {
    let mut licensed = dossier();
    licensed.gtins.insert("PEA-260712-A-V".into(), "06291041500213".into());
    let document = epcis::document(&licensed);
    let shipped = of(&document, What::Shipped.shown())[0];
    let class = shipped["quantityList"][0]["epcClass"].as_str().unwrap();
    assert_eq!(class, "https://id.gs1.org/01/06291041500213/10/PEA260712AV");
    assert_eq!(faults(&document), [] as [String; 0]);
    assert!(!epcis::text(&dossier()).contains("id.gs1.org"));
}
