use super::*;
use crate::domain::id::StoreId;
use crate::domain::reading::Spot;
use crate::domain::room::Zone;
use crate::domain::time::Now;

const AIR: Spot = Spot::Zone(Zone::Lit);
const COLD: Spot = Spot::Store(StoreId(1));

fn now() -> Now {
    Now(chrono::DateTime::parse_from_rfc3339("2026-07-12T12:00:00+02:00").unwrap())
}

fn map_of(text: &str) -> Guess {
    guess(text, &Sheet::of(text).unwrap(), AIR, None)
}

fn read(text: &str, map: &Map) -> Parsed {
    let mut reader = Reader::new(text, &Sheet::of(text).unwrap(), map, now()).unwrap();
    while reader.step(2) {}
    reader.finish()
}

fn told(parsed: &Parsed) -> Vec<String> {
    parsed
        .readings
        .iter()
        .map(|r| {
            let rh = r.rh_pm.map_or_else(String::new, |rh| format!(" {rh}"));
            format!("{} {}{rh}", r.at, r.temp_dc)
        })
        .collect()
}

fn bad(parsed: &Parsed) -> Vec<(usize, &str)> {
    parsed.bad.iter().map(|bad| (bad.line, bad.why.as_str())).collect()
}

#[test]
fn columns_units_and_times_are_found_by_names_and_by_what_stands_in_them() {
    for (text, temp_dc) in [
        ("Time,Temp (°C),RH (%)\n2026-07-12 06:05,21.4,82\n2026-07-12 06:10,21.5,83\n", 214),
        (
            "Device 7\nSerial;00123\n\nDatum;Uhrzeit;Humidity;Temperature °C\n13.06.2026;06:05;82;21,4\n14.06.2026;06:10;83;21,5\n",
            214,
        ),
        (
            "n\tdate_time\ttemp_f\tdew point\trh\n1\t06/13/2026 06:05:00 AM\t70.5\t65\t82.0\n2\t6/13/2026 6:10 PM\t70.7\t65\t83\n",
            214,
        ),
        ("Zeit,Temp °C,RH %\n2026-07-10 06:00,\"21,4\",\"82,0\"\n2026-07-10 06:05,\"21,5\",83\n", 214),
        ("1781330700,21.4 °C,82 %\n1781331000,21.5 °C,83 %\n", 214),
        (
            "\u{feff}\"Temperature, °C\",\"Humidity, %\",\"At\"\n21.4,82,2026-06-13T06:05:00Z\n21.5,83,2026-06-13T06:10:00Z\n",
            214,
        ),
    ] {
        let text = super::text(text.as_bytes().to_vec()).unwrap();
        let map = map_of(&text).map(AIR).unwrap_or_else(|open| panic!("{open}: {text}\n{:?}", map_of(&text)));
        let parsed = read(&text, &map);
        assert_eq!((parsed.bad.len(), parsed.readings.len()), (0, 2), "{map:?} {parsed:?}");
        assert_eq!((parsed.readings[0].temp_dc, parsed.readings[0].rh_pm), (temp_dc, Some(820)), "{map:?}");
    }
}

#[test]
fn times_without_an_offset_are_the_rooms_and_others_their_own() {
    let text = "time,°C,%\n2026-07-12 06:05,20,80\n2026-07-12T06:10Z,20,81\n2026-07-12 06:15:30+05:30,20,82\n";
    let parsed = read(text, &map_of(text).map(AIR).unwrap());
    assert_eq!(
        told(&parsed),
        ["2026-07-12T00:45:30Z 200 820", "2026-07-12T04:05:00Z 200 800", "2026-07-12T06:10:00Z 200 810"]
    );
}

#[test]
fn whether_the_day_or_the_month_comes_first_is_asked_where_the_file_does_not_say() {
    let open = "time,°C,%\n03/04/2026 06:05,20,80\n03/05/2026 06:05,20,80\n";
    assert_eq!(map_of(open).map(AIR).unwrap_err(), "whether the day or the month comes first");
    let said = format!("{open}13/05/2026 06:05,20,80\n");
    assert_eq!(map_of(&said).order, Some(TimeOrder::DayFirst));
    // both orders occur: nobody can tell those that fit both
    let mixed = format!("{said}05/13/2026 06:05,20,80\n");
    assert_eq!(map_of(&mixed).order, None);
    let map = Guess { order: Some(TimeOrder::MonthFirst), ..map_of(&mixed) }.map(AIR).unwrap();
    let parsed = read(&mixed, &map);
    assert_eq!(bad(&parsed), [(4, "the time \"13/05/2026 06:05\" is not written month first, 07/12/2026 06:05 AM")]);
    assert_eq!(parsed.readings.len(), 3);
}

#[test]
fn a_line_that_cannot_be_read_is_told_and_the_others_stay() {
    let text = "time;temp °C;rh %\n\
        2026-07-12 06:00;21,4;82\n\
        2026-07-12 06:05;21.4;82\n\
        2026-07-12 06:10;--;82\n\
        2026-07-12 06:15;21,4;0\n\
        2026-07-12 06:20;21,4;101\n\
        2026-07-12 06:25;70;50\n\
        12.07.2026 06:30;21,4;50\n\
        2026-07-12;21,4;50\n\
        2026-07-12 06:35;21,4\n\
        2026-07-12 06:40;70,5 °F;50\n\
        2026-07-12 12:01;21,4;50\n\
        \"2026-07-12 06:45;21,4;50\n\
        2026-07-12 06:00;21,9;82\n\
        2026-07-12 06:00;21,4;82\n\
        \n\
        2026-07-12 06:50;21,6;84\n";
    let parsed = read(text, &map_of(text).map(AIR).unwrap());
    assert_eq!(told(&parsed), ["2026-07-12T04:00:00Z 214 820", "2026-07-12T04:50:00Z 216 840"]);
    assert_eq!(
        bad(&parsed),
        [
            (3, "temperature: \"21.4\" has a point, not a comma"),
            (4, "temperature: \"--\" is no number"),
            (5, "0 % is no relative humidity: more than 0 and at most 100 can be"),
            (6, "101 % is no relative humidity: more than 0 and at most 100 can be"),
            (7, "70 °C is no air of a room or a store: -20 to 60 °C can be"),
            (8, "the time \"12.07.2026 06:30\" is not written year first, 2026-07-12 06:05"),
            (9, "\"2026-07-12\" has no time of day"),
            (10, "it has only 2 columns"),
            (11, "temperature: it says °F, the column is in °C"),
            (12, "2026-07-12 12:01 is still to come"),
            (13, "the time \"2026-07-12 06:45;21,4;50\" is not written year first, 2026-07-12 06:05"),
            (14, "line 2 has the same time and other figures"),
        ]
    );
    assert_eq!((parsed.twice, parsed.words().as_str()), (1, "2 readings, 12 lines left out, 1 line written twice"));
}

#[test]
fn fahrenheit_in_a_celsius_column_is_asked_about_and_the_other_way_round() {
    let text = "time,temp C,rh\n2026-07-12 06:00,70.1,82\n2026-07-12 06:05,58.5,82\n2026-07-12 06:10,21.0,83\n";
    let sheet = Sheet::of(text).unwrap();
    let map = |unit| Guess { unit: Some(unit), ..map_of(text) }.map(AIR).unwrap();
    assert!(doubt(text, &sheet, &map(TempUnit::Celsius), AIR).unwrap().contains("looks like °F"));
    assert_eq!(doubt(text, &sheet, &map(TempUnit::Fahrenheit), AIR), None);
    let cool = text.replace("70.1", "21.1").replace("58.5", "20.5");
    assert_eq!(doubt(&cool, &sheet, &map(TempUnit::Celsius), AIR), None);
    assert!(doubt(&cool, &sheet, &map(TempUnit::Fahrenheit), AIR).unwrap().contains("looks like °C"));
    // no unit is said: it is asked
    assert_eq!(map_of(&text.replace("temp C", "temp")).map(AIR).unwrap_err(), "whether the temperature is in °C or °F");
}

#[test]
fn a_file_in_another_encoding_is_refused_in_a_sentence() {
    let plain = "time,temp °C,rh\n2026-07-12 06:00,21,82\n";
    for big in [false, true] {
        for mark in [true, false] {
            let units = mark.then_some(0xFEFF).into_iter().chain(plain.encode_utf16());
            let bytes = units.flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect();
            assert!(text(bytes).unwrap_err().contains("UTF-16"), "{big} {mark}");
        }
    }
    let latin: Vec<u8> = plain.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    assert!(text(latin).unwrap_err().starts_with("Line 1 is not in UTF-8, perhaps in Latin-1"));
    assert!(text(vec![b'a', 0, b'b', b'c', b'd', b'e', b'f']).unwrap_err().contains("no text"));
    for (text, why) in [("", "empty"), (" \n\n", "empty"), ("a,b\n1,2\n", "No line of it"), ("hello", "No line of it")]
    {
        assert!(Sheet::of(text).unwrap_err().contains(why), "{text}");
    }
}

#[test]
fn what_was_chosen_before_holds_where_its_columns_are_there() {
    let text = "when,a,b\n03/04/2026 06:05,20,80\n";
    let sheet = Sheet::of(text).unwrap();
    let map =
        Guess { order: Some(TimeOrder::MonthFirst), unit: Some(TempUnit::Celsius), ..guess(text, &sheet, AIR, None) };
    let map = map.map(AIR).unwrap();
    assert_eq!(guess(text, &sheet, AIR, [&map]).map(AIR).unwrap(), map);
    let other = text.replace("when", "at");
    assert_eq!(guess(&other, &Sheet::of(&other).unwrap(), AIR, [&map]).unit, None);
    let told = Reader::new(&other, &Sheet::of(&other).unwrap(), &map, now()).err().unwrap();
    assert_eq!(told, "The file has no column \"when\": its columns are at, a, b.");
    let same = Map { rh: Some(map.temp.clone()), ..map };
    assert!(Reader::new(text, &sheet, &same, now()).err().unwrap().contains("two things"));
}

fn cold(text: &str) -> Parsed {
    let sheet = Sheet::of(text).unwrap();
    read(text, &guess(text, &sheet, COLD, None).map(COLD).unwrap())
}

#[test]
fn a_file_of_temperatures_alone_is_read_for_a_cold_store_and_asked_about_for_a_zone() {
    for text in [
        "time,temp °C\n2026-07-12 06:00,4.1\n2026-07-12 06:05,4.2\n",
        "time;temp °C\n2026-07-12 06:00;4,1\n2026-07-12 06:05;4,2\n",
        "Temp °C\tday\tclock\n4.1\t12.07.2026\t06:00\n4.2\t13.05.2026\t06:05\n",
        // how the logger was set is no reading, nor is what no column calls humidity
        "Started,2026-07-01 06:00,7\n\nn,time,temp °C,volt\n1,2026-07-12 06:00,4.1,3.02\n2,2026-07-12 06:05,4.2,3.01\n",
        "Started,2026-07-01 06:00\nEvery,300\n\ntime,temp °C\n2026-07-12 06:00,4.1\n2026-07-12 06:05,4.2\n",
    ] {
        let parsed = cold(text);
        let told: Vec<_> = parsed.readings.iter().map(|r| (r.temp_dc, r.rh_pm)).collect();
        assert!(parsed.bad.len() <= 2, "{text}{parsed:?}");
        assert!(told.len() == 2 && told.contains(&(41, None)) && told.contains(&(42, None)), "{text}{parsed:?}");
    }
    let plain = "time,temp °C\n2026-07-12 06:00,4.1\n2026-07-12 06:05,4.2\n";
    assert_eq!(map_of(plain).map(AIR).unwrap_err(), "which column is the humidity");
    // kept if the file has it
    let both = "time,temp °C,rh\n2026-07-12 06:00,4.1,88\n";
    assert_eq!(cold(both).readings[0].rh_pm, Some(880));
    // a map without it is no map of a zone's file, and one with it is found as before it could be missing
    let map = guess(plain, &Sheet::of(plain).unwrap(), COLD, None).map(COLD).unwrap();
    assert_eq!(guess(plain, &Sheet::of(plain).unwrap(), COLD, [&map]).map(COLD).unwrap(), map);
    assert_eq!(guess(both, &Sheet::of(both).unwrap(), AIR, [&map]).rh.as_deref(), Some("rh"));
    let old = r#"{"time":"t","clock":null,"temp":"c","rh":"h","unit":"celsius","order":"year_first","comma":false}"#;
    let old: Map = serde_json::from_str(old).unwrap();
    assert_eq!(old.rh.as_deref(), Some("h"));
}

#[test]
fn lines_of_temperatures_twice_out_of_order_still_to_come_or_broken_off_are_told() {
    let text = "time,temp °C\n\
        2026-07-12 06:10,4.3\n\
        2026-07-12 06:00,4.1\n\
        2026-07-12 06:00,4.1\n\
        2026-07-12 06:00,4.9\n\
        2026-07-12 12:01,4.0\n\
        2026-07-12 06:15,39.9 °F\n\
        2026-07-12 06:20\n\
        2026-07-12 06:25,\n\
        2026-07-12 06:30,4.";
    let parsed = cold(text);
    assert_eq!(told(&parsed), ["2026-07-12T04:00:00Z 41", "2026-07-12T04:10:00Z 43"]);
    assert_eq!(
        bad(&parsed),
        [
            (5, "line 3 has the same time and other figures"),
            (6, "2026-07-12 12:01 is still to come"),
            (7, "temperature: it says °F, the column is in °C"),
            (8, "it has only 1 column"),
            (9, "temperature: it is empty"),
            (10, "the file breaks off here, perhaps inside of a number"),
        ]
    );
    assert_eq!(parsed.twice, 1);
}

#[test]
fn a_file_that_breaks_off_inside_of_its_last_number_loses_that_line_only() {
    let lines =
        |last: &str| format!("time,temp °C\n2026-07-12 06:00,14.1\n2026-07-12 06:05,9.8\n2026-07-12 06:10,{last}");
    for (last, kept) in [("1", 2), ("1.", 2), ("9.", 2), ("9.9", 3), ("14.0", 3), ("1\n", 3), ("", 2), ("\n", 2)] {
        assert_eq!(cold(&lines(last)).readings.len(), kept, "{last:?}");
    }
    // so does one of the air, in whatever column it ends; alone, a line has nothing to be shorter than
    let air = "time,°C,%\n2026-07-12 06:00,20,80\n2026-07-12 06:05,20,8";
    assert_eq!(bad(&read(air, &map_of(air).map(AIR).unwrap())).len(), 1);
    let one = "time,°C,%\n2026-07-12 06:00,20,8";
    assert_eq!(read(one, &map_of(one).map(AIR).unwrap()).readings.len(), 1);
    let last = "°C,time\n4.1,2026-07-12 06:00\n4.2,2026-07-12 06:05\n4.3,2026-07-12 06:1";
    assert_eq!(cold(last).readings.len(), 2);
}

#[test]
fn fahrenheit_of_a_cold_store_is_doubted_at_its_own_temperatures() {
    let text = |temps: &str| {
        let line = |temp| format!("2026-07-12 06:00,{temp}\n");
        format!("time,temp\n{}", temps.split(' ').map(line).collect::<String>())
    };
    for (temps, unit, doubted) in [
        ("38.1 37.9 39.0", TempUnit::Celsius, Some("looks like °F")),
        ("38.1 37.9 39.0", TempUnit::Fahrenheit, None),
        ("3.4 4.0 12.1", TempUnit::Celsius, None),
        ("3.4 4.0 12.1", TempUnit::Fahrenheit, Some("looks like °C")),
    ] {
        let text = text(temps);
        let sheet = Sheet::of(&text).unwrap();
        let found = guess(&text, &sheet, COLD, None);
        assert_eq!(found.unit, None);
        let map = Guess { unit: Some(unit), order: Some(TimeOrder::YearFirst), ..found }.map(COLD).unwrap();
        let said = doubt(&text, &sheet, &map, COLD);
        assert!(
            said.as_deref().map_or(doubted.is_none(), |said| doubted.is_some_and(|word| said.contains(word))),
            "{said:?}"
        );
    }
}
