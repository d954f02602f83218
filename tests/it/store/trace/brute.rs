//! The same book once more: raw rows in plain lists, walked until nothing new is found. It shares no code with the store.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Connection;

/// A thing: the letter of its table, and its row.
pub type N = (char, i64);

/// Something of one thing went into another.
pub type Edge = (N, N);

/// What counts in a book, as far as it goes from one thing into another.
pub struct Graph {
    /// From seed and materials to customers, each with how much of it.
    pub edges: BTreeMap<Edge, String>,
    pub seed_lots: Vec<i64>,
    pub sowings: Vec<i64>,
    pub trays: Vec<i64>,
    pub lots: Vec<i64>,
    /// Lots taken back for good.
    pub gone: Vec<i64>,
    /// Lots with another label, and the lot that stands in their place.
    pub renamed: BTreeMap<i64, i64>,
    /// Packs by delivery and lot, and those of them that came back.
    pub delivered: BTreeMap<(i64, i64), (i64, i64)>,
    /// Packs by round and lot.
    pub public: BTreeMap<(i64, i64), i64>,
}

/// Every row of a table that was not taken back, as a number for each column, 0 where there is none.
fn rows(conn: &Connection, table: &str, columns: &[&str]) -> Vec<Vec<i64>> {
    let text = format!("SELECT {} FROM {table} WHERE void_by IS NULL", columns.join(", "));
    let mut select = conn.prepare(&text).unwrap();
    let all = select.query_map([], |row| {
        (0..columns.len()).map(|n| row.get::<_, Option<i64>>(n).map(|value| value.unwrap_or(0))).collect()
    });
    all.unwrap().map(Result::unwrap).collect()
}

fn mats(n: i64) -> String {
    if n == 1 { "1 mat".into() } else { format!("{n} mats") }
}

fn packs(n: i64) -> String {
    if n == 1 { "1 pack".into() } else { format!("{n} packs") }
}

impl Graph {
    #[expect(clippy::too_many_lines, reason = "one plain pass over each table")]
    pub fn of(conn: &Connection) -> Self {
        let mut sums: BTreeMap<Edge, Vec<i64>> = BTreeMap::new();
        let mut add = |from: N, to: N, amounts: &[i64]| {
            let sum = sums.entry((from, to)).or_insert_with(|| vec![0; amounts.len()]);
            sum.iter_mut().zip(amounts).for_each(|(sum, amount)| *sum += amount);
        };
        let sowings = rows(conn, "sowing", &["id", "before_lot_id", "medium_lot_id"]);
        let live: BTreeSet<i64> = sowings.iter().map(|row| row[0]).collect();
        for row in rows(conn, "seed_move", &["seed_lot_id", "sowing_id", "mg"]) {
            if row[1] != 0 {
                add(('S', row[0]), ('B', row[1]), &[-row[2]]);
            }
        }
        for row in &sowings {
            if row[1] != 0 {
                add(('S', row[1]), ('B', row[0]), &[0]);
            }
            if row[2] != 0 {
                add(('M', row[2]), ('B', row[0]), &[0]);
            }
        }
        let (mut trays, mut whole) = (Vec::new(), BTreeMap::new());
        let mut select = conn.prepare("SELECT id, sowing_id, mats FROM tray").unwrap();
        let mut found = select.query([]).unwrap();
        while let Some(row) = found.next().unwrap() {
            let (id, sowing, mats): (i64, i64, i64) = (row.get(0).unwrap(), row.get(1).unwrap(), row.get(2).unwrap());
            if live.contains(&sowing) {
                add(('B', sowing), ('T', id), &[mats]);
                trays.push(id);
                whole.insert(id, mats);
            }
        }
        // kind as a number: 1 a pack lot
        let mut lots = BTreeMap::new();
        for row in rows(conn, "lot", &["id", "kind = 'pack'"]) {
            lots.insert(row[0], row[1] == 1);
        }
        for row in
            rows(conn, "lot_input", &["lot_id", "tray_id", "from_lot_id", "mats", "grams", "packs", "grams IS NULL"])
        {
            if row[1] != 0 {
                add(('T', row[1]), ('L', row[0]), &[row[3], row[4], 1 - row[6]]);
            } else {
                add(('L', row[2]), ('L', row[0]), &[row[4], row[5]]);
            }
        }
        for row in rows(conn, "lot_use", &["material_lot_id", "lot_id"]) {
            if row[0] != 0 {
                add(('M', row[0]), ('L', row[1]), &[0]);
            }
        }
        let (mut delivered, mut public) = (BTreeMap::new(), BTreeMap::new());
        let kinds = ["kind = 'delivered'", "kind = 'returned'", "kind IN ('sold_public', 'given')"];
        for row in
            rows(conn, "stock_move", &[kinds[0], kinds[1], kinds[2], "lot_id", "delivery_id", "round_id", "packs"])
        {
            let (lot, delivery, round, packs) = (row[3], row[4], row[5], row[6]);
            if row[0] == 1 || row[1] == 1 {
                let sum: &mut (i64, i64) = delivered.entry((delivery, lot)).or_default();
                *(if row[0] == 1 { &mut sum.0 } else { &mut sum.1 }) += packs;
            }
            if row[2] == 1 && round != 0 {
                *public.entry((round, lot)).or_default() += packs;
            }
        }
        let mut edges: BTreeMap<Edge, String> = sums
            .iter()
            .map(|((from, to), sum)| {
                let words = match (from.0, to.0, sum.as_slice()) {
                    ('S', _, [0]) | ('M', ..) => String::new(),
                    ('S', _, [mg]) => format!("{} g", mg / 1000),
                    ('B', _, [n]) => mats(*n),
                    ('T', _, [n, _, 0]) => format!("{n} of {}", mats(whole[&from.1])),
                    ('T', _, [n, grams, _]) => format!("{n} of {}, {grams} g", mats(whole[&from.1])),
                    ('L', _, [grams, n]) => {
                        if lots[&from.1] {
                            packs(*n)
                        } else {
                            format!("{grams} g")
                        }
                    }
                    other => panic!("{other:?}"),
                };
                ((*from, *to), words)
            })
            .collect();
        for ((delivery, lot), (there, back)) in &delivered {
            let back = if *back > 0 { format!(", {back} came back") } else { String::new() };
            edges.insert((('L', *lot), ('D', *delivery)), format!("{}{back}", packs(*there)));
        }
        for ((round, lot), n) in &public {
            edges.insert((('L', *lot), ('R', *round)), packs(*n));
        }
        let (gone, renamed) = taken_back(conn);
        Self {
            edges,
            seed_lots: rows(conn, "seed_lot", &["id"]).into_iter().map(|row| row[0]).collect(),
            sowings: live.into_iter().collect(),
            trays,
            lots: lots.into_keys().collect(),
            gone,
            renamed,
            delivered,
            public,
        }
    }

    /// Everything that things come to, themselves among it: the edges are gone through until nothing new comes up.
    pub fn closure(&self, from: &[N], back: bool) -> BTreeSet<N> {
        let mut reached: BTreeSet<N> = from.iter().copied().collect();
        loop {
            let before = reached.len();
            for (one, other) in self.edges.keys() {
                let (here, there) = if back { (other, one) } else { (one, other) };
                if reached.contains(here) {
                    reached.insert(*there);
                }
            }
            if reached.len() == before {
                return reached;
            }
        }
    }
}

/// Lots that do not count any more: those gone for good, and those another stands in the place of.
fn taken_back(conn: &Connection) -> (Vec<i64>, BTreeMap<i64, i64>) {
    let mut select =
        conn.prepare("SELECT id, coalesce(instead_of, 0), void_by IS NULL FROM lot ORDER BY id DESC").unwrap();
    let all: Vec<(i64, i64, bool)> =
        select.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).unwrap().map(Result::unwrap).collect();
    let (mut gone, mut now) = (Vec::new(), BTreeMap::new());
    for (id, instead_of, counts) in all {
        let stands = if counts { Some(id) } else { now.get(&id).copied() };
        match stands {
            Some(stands) if instead_of != 0 => {
                now.insert(instead_of, stands);
            }
            Some(_) => {}
            None => gone.push(id),
        }
    }
    (gone, now)
}
