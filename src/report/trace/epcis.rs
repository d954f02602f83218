//! Events for other programs, as a document of EPCIS 2.0 in JSON-LD.
//!
//! P (tracing.md T3): the document's and the events' required fields; sowing and harvest have no term of their own, and
//! `creating_class_instance` fits; a correction is an `errorDeclaration`, and nothing is deleted. From memory, not looked up: the
//! address of the context, the other terms of the core business vocabulary used here (`receiving`, `storing`, `packing`,
//! `shipping`, `retail_selling`, `destroying`, `other`, the dispositions, `possessing_party`, `desadv`), that a transformation
//! has no action, that events of which one corrects the other differ in their identifiers, and the code H87 of UN/ECE
//! Recommendation 20 for things that are counted.
//!
//! Identifiers have to be URIs. A lot whose product has a number of a licensed prefix is named by its GS1 Digital Link. All
//! else is named by private URNs in the shape that vocabulary gives them (`…:class:…`, `…:loc:…`, memory). Their namespace
//! `x-rackwalk` is registered nowhere: they tell the things of one document apart and mean nothing elsewhere.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::{DateTime, FixedOffset, NaiveTime};
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use crate::domain::gs1::{Gtin, digital_link};
use crate::domain::trace::Dossier;
use crate::domain::trace::event::{Event, Input, Party, Quantity, Replaced, What};

const CONTEXT: &str = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld";

/// The whole document, indented.
pub fn text(dossier: &Dossier) -> String {
    // plain values with text for keys: nothing can go wrong
    let mut text = serde_json::to_string_pretty(&document(dossier)).unwrap_or_default();
    text.push('\n');
    text
}

/// The document as a value.
pub fn document(dossier: &Dossier) -> Value {
    let mut known = BTreeMap::new();
    let ids: Vec<String> = dossier.events.iter().map(|event| id(dossier, event, &mut known)).collect();
    let names = Names { dossier, ids: &ids };
    let mut events: Vec<Value> =
        dossier.replaced.iter().map(|old| names.wrong(old, &id(dossier, &old.event, &mut known))).collect();
    events.extend(dossier.events.iter().zip(&ids).map(|(event, id)| Value::Object(names.event(event, id))));
    json!({
        "@context": [CONTEXT, { "rackwalk": "urn:x-rackwalk:field:" }],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": moment(dossier.made_at),
        "rackwalk:room": dossier.room,
        "rackwalk:chainEntries": dossier.proof.entries,
        "rackwalk:chainHead": dossier.proof.head,
        "rackwalk:marks": dossier.marks(),
        "epcisBody": { "eventList": events },
    })
}

fn moment(at: DateTime<FixedOffset>) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}

/// Percent-encoded but for what RFC 3986 leaves unreserved.
fn escaped(text: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    let one = |byte: u8| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.bytes().map(one).collect()
}

/// What something is called in a document.
struct Names<'a> {
    dossier: &'a Dossier,
    /// Of its events, in their order.
    ids: &'a [String],
}

impl Names<'_> {
    fn own(&self, kind: &str, what: &str) -> String {
        format!("urn:x-rackwalk:{}:{kind}:{}", escaped(&self.dossier.room), escaped(what))
    }

    /// A lot, a batch.
    fn class(&self, code: &str) -> String {
        let number = self.dossier.gtins.get(code).and_then(|text| text.parse::<Gtin>().ok());
        let link = number.and_then(|gtin| digital_link(&gtin, &code.replace('-', ""), None, None).ok());
        link.unwrap_or_else(|| self.own("class", code))
    }

    fn quantity(&self, code: &str, quantity: Quantity) -> Value {
        let class = self.class(code);
        // whole kilograms and grams of a day's work are exact enough in a double
        match quantity {
            Quantity::Mass(mg) => json!({ "epcClass": class, "quantity": kilograms(mg), "uom": "KGM" }),
            Quantity::Packs(n) | Quantity::Trays(n) | Quantity::Mats(n) => {
                json!({ "epcClass": class, "quantity": n, "uom": "H87" })
            }
        }
    }

    /// Without an amount only the class stands there.
    fn some(&self, code: &str, quantity: Option<Quantity>) -> Value {
        quantity.map_or_else(|| json!({ "epcClass": self.class(code) }), |quantity| self.quantity(code, quantity))
    }

    /// An event, as it counts or counted.
    fn event(&self, event: &Event, id: &str) -> Map<String, Value> {
        let mut map = Map::new();
        let at = event.at.unwrap_or_else(|| midnight(event, self.dossier.made_at));
        let mut put = |key: &str, value: Value| map.insert(key.into(), value);
        let transformation = matches!(event.what, What::Sown | What::Harvested | What::Packed | What::Relabelled)
            && !event.inputs.is_empty();
        put("type", json!(if transformation { "TransformationEvent" } else { "ObjectEvent" }));
        put("eventID", json!(id));
        put("eventTime", json!(moment(at)));
        put("eventTimeZoneOffset", json!(at.format("%:z").to_string()));
        let (step, disposition, action) = terms(event.what);
        put("bizStep", json!(step));
        put("disposition", json!(disposition));
        if transformation {
            let inputs: Vec<Value> =
                event.inputs.iter().map(|input: &Input| self.some(&input.lot, input.quantity)).collect();
            put("inputQuantityList", Value::Array(inputs));
            put("outputQuantityList", json!([self.some(&event.lot, event.quantity)]));
        } else {
            put("action", json!(action));
            put("quantityList", json!([self.some(&event.lot, event.quantity)]));
        }
        put("readPoint", json!({ "id": self.own("loc", "room") }));
        if let Some(store) = event.places.first().filter(|_| event.what == What::Cooled) {
            put("bizLocation", json!({ "id": self.own("loc", store) }));
        }
        if matches!(event.what, What::Received | What::Shipped | What::Sold | What::Given | What::Returned) {
            put("sourceList", json!([{ "type": "possessing_party", "source": self.party(&event.from) }]));
            put("destinationList", json!([{ "type": "possessing_party", "destination": self.party(&event.to) }]));
        }
        let (kind, number) = &event.document;
        if !number.is_empty() {
            let uri = self.own("bt", &format!("{kind} {number}"));
            let mut transaction = json!({ "bizTransaction": uri });
            if let Some(map) = transaction.as_object_mut().filter(|_| kind == "delivery note") {
                map.insert("type".into(), json!("desadv"));
            }
            put("bizTransactionList", json!([transaction]));
        }
        map.extend(Self::fields(event));
        map
    }

    /// What an authority asks for and the standard has no field for, as fields of our own.
    fn fields(event: &Event) -> Map<String, Value> {
        let mut map = Map::new();
        let mut put = |key: &str, value: String| {
            if !value.trim().is_empty() {
                map.insert(format!("rackwalk:{key}"), Value::String(value));
            }
        };
        put("what", event.what.shown().into());
        put("crop", event.crop.clone());
        put("variety", event.variety.clone());
        put("product", event.product.clone());
        put("packSize", event.pack_g.map_or_else(String::new, |grams| format!("{grams} g")));
        put("bestBefore", event.best_before.map_or_else(String::new, |day| day.to_string()));
        put("supplierLot", event.supplier_lot.clone());
        put("lotCodeBy", event.code_by.words());
        put("from", event.from.words());
        put("to", event.to.words());
        put("trays", event.trays.join(", "));
        put("places", event.places.join(", "));
        put("until", event.until.map_or_else(String::new, moment));
        put("treated", event.treated.map_or_else(String::new, |treated| treated.shown().into()));
        put("certificate", event.certificate.clone());
        put("document", format!("{} {}", event.document.0, event.document.1));
        put("remark", event.remark.clone());
        put("saw", event.stamp.saw.clone());
        put("typed", event.stamp.typed.clone());
        put("typedAt", moment(event.stamp.typed_at));
        put("entry", event.stamp.entry.0.to_string());
        put("putRightBy", event.stamp.put_right_by.map_or_else(String::new, |entry| entry.0.to_string()));
        put("timeOfDay", if event.at.is_none() { "not written down".into() } else { String::new() });
        map
    }

    /// An event as it was written first, with what declares it wrong.
    fn wrong(&self, old: &Replaced, id: &str) -> Value {
        let mut map = self.event(&old.event, id);
        let mut declared = json!({
            "declarationTime": moment(old.by.typed_at),
            "reason": if old.never { "did_not_occur" } else { "incorrect_data" },
        });
        let stands = |event: &&Event| !old.never && (event.what, &event.lot) == (old.event.what, &old.event.lot);
        let instead: Vec<&String> =
            self.dossier.events.iter().zip(self.ids).filter(|(event, _)| stands(event)).map(|(_, id)| id).collect();
        if let Some(declared) = declared.as_object_mut().filter(|_| !instead.is_empty()) {
            declared.insert("correctiveEventIDs".into(), json!(instead));
        }
        map.insert("errorDeclaration".into(), declared);
        Value::Object(map)
    }

    fn party(&self, party: &Party) -> String {
        let own = party == &self.dossier.sender;
        match party.name.trim() {
            _ if own => self.own("party", "room"),
            "" => self.own("party", "not recorded"),
            name => self.own("party", name),
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "a delivery is at most a tonne of milligrams, far below 2^53")]
fn kilograms(mg: i64) -> f64 {
    mg as f64 / 1_000_000.0
}

/// Of an event of which only the day is known.
fn midnight(event: &Event, made_at: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
    let at = event.day.and_time(NaiveTime::MIN).and_local_timezone(*made_at.offset());
    at.single().unwrap_or(made_at)
}

/// Business step, disposition, and the action of an event that is no transformation.
fn terms(what: What) -> (&'static str, &'static str, &'static str) {
    match what {
        What::Received => ("receiving", "in_progress", "OBSERVE"),
        // of trays that stood before the book nobody knows the seed: the batch begins here
        What::Sown | What::Harvested => ("creating_class_instance", "in_progress", "ADD"),
        What::Cooled => ("storing", "in_progress", "OBSERVE"),
        What::Packed | What::Blended => ("packing", "in_progress", "ADD"),
        What::Shipped => ("shipping", "in_transit", "OBSERVE"),
        What::Sold => ("retail_selling", "retail_sold", "OBSERVE"),
        What::Returned => ("receiving", "returned", "OBSERVE"),
        What::Binned => ("destroying", "destroyed", "DELETE"),
        What::Relabelled | What::Given | What::Sampled => ("other", "in_progress", "OBSERVE"),
    }
}

/// Always the same for the same event, and another for what corrects it: a UUID of version 8 from what the event says.
/// `known`: how often the same was said before in this document.
fn id(dossier: &Dossier, event: &Event, known: &mut BTreeMap<String, usize>) -> String {
    let Event { what, day, at, lot, crop, quantity, inputs, document, stamp, .. } = event;
    // in another season the clock of the room is another one
    let at = at.map(|at| at.to_utc());
    let said = json!([dossier.room, what, day, at, lot, crop, quantity, inputs, document, stamp.entry]).to_string();
    let n = known.entry(said.clone()).or_default();
    let hash: [u8; 32] = Sha256::digest(format!("{said} {n}").as_bytes()).into();
    *n += 1;
    let mut hex = String::from("urn:uuid:");
    for (n, byte) in hash.iter().take(16).enumerate() {
        let byte = match n {
            6 => 0x80 | (byte & 0x0f),
            8 => 0x80 | (byte & 0x3f),
            _ => *byte,
        };
        if matches!(n, 4 | 6 | 8 | 10) {
            hex.push('-');
        }
        // into a text: nothing can go wrong
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}
