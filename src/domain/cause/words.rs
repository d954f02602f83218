//! What a period came to, in plain sentences; the words of statistics stand behind "why" alone.

use super::compare::{CALLED, COMPARED, ENOUGH, IN_GROUP};
use super::{By, Fate, Findings, Group, Lead, Of, Shared};
use crate::domain::proportion::Share;
use crate::domain::text::counted;

/// Leads on the page; the others stand marked in the lists.
const LEADS: usize = 5;
/// Lines of what a few have in common.
const SHARED: usize = 8;
/// Lines of a kind of groups, the worst ones.
const LISTED: usize = 8;
/// Names of one kind in a sentence.
const TOGETHER: usize = 3;
/// Lines of the table behind "why".
const FIGURES: usize = 40;

impl By {
    /// Whose hands it was in.
    pub fn hands(self) -> bool {
        matches!(self, Self::SownBy | Self::LookedBy | Self::CutBy | Self::PackedBy)
    }

    /// `grew from seed lot S0012-X pea`, of trays; `hold seed lot S0012-X pea`, of pack lots.
    fn says(self, name: &str, trays: bool) -> String {
        let of = |tray: &str, pack: &str| if trays { format!("{tray} {name}") } else { format!("{pack} {name}") };
        match self {
            Self::Lot => of("grew from seed lot", "hold seed lot"),
            Self::Batch => of("are of batch", "hold batch"),
            Self::Crop => of("are", "hold"),
            Self::Product => of("are", "are"),
            Self::Zone => of("began in the zone:", "hold trays that began in the zone:"),
            Self::Shelf => of("began on shelf", "hold trays that began on shelf"),
            Self::Place => of("began at", "hold trays that began at"),
            Self::Mix => of("were sprayed with", "hold trays sprayed with"),
            Self::Water => of("got water from", "hold trays that got water from"),
            Self::Medium => of("grew on", "hold trays that grew on"),
            Self::Store => of("lay in", "lay in"),
            Self::Spell => of("lay through:", "lay through:"),
            Self::Tool => of("were touched by", "were touched by"),
            Self::Packaging => of("are packed in", "are packed in"),
            Self::SownOn => of("were sown on", "hold trays sown on"),
            Self::CutOn => of("were cut on", "hold greens cut on"),
            Self::PackedOn => of("were packed on", "were packed on"),
            Self::SownBy => of("went at sowing through the hands of", "went at sowing through the hands of"),
            Self::LookedBy => of("went at looks through the hands of", "went at looks through the hands of"),
            Self::CutBy => of("went at cutting through the hands of", "went at cutting through the hands of"),
            Self::PackedBy => of("went at packing through the hands of", "went at packing through the hands of"),
        }
    }

    /// `seed lot S0012-X pea`, after "share" or "the same as".
    fn names(self, name: &str) -> String {
        let what = match self {
            Self::Lot => "seed lot",
            Self::Batch => "batch",
            Self::Crop => "crop",
            Self::Product => "product",
            Self::Zone => "begun in the zone:",
            Self::Shelf => "begun on shelf",
            Self::Place => "begun at",
            Self::Mix => "sprayed with",
            Self::Water => "water from",
            Self::Medium => "grown on",
            Self::Store => "lay in",
            Self::Spell => "lay through:",
            Self::Tool => "touched by",
            Self::Packaging => "packed in",
            Self::SownOn => "sown on",
            Self::CutOn => "cut on",
            Self::PackedOn => "packed on",
            Self::SownBy => "at sowing in the hands of",
            Self::LookedBy => "at looks in the hands of",
            Self::CutBy => "at cutting in the hands of",
            Self::PackedBy => "at packing in the hands of",
        };
        format!("{what} {name}")
    }
}

impl Of {
    /// What is counted, and what the bad ones of it are called.
    fn nouns(self) -> (&'static str, &'static str) {
        match self {
            Self::Mould => ("tray", "bad tray"),
            Self::Suspects => ("tray", "suspect tray"),
            Self::Losses => ("tray", "lost tray"),
            Self::Complaints => ("pack lot", "pack lot complained about"),
        }
    }

    /// `3 pack lots complained about`.
    fn bad(self, n: usize) -> String {
        match self {
            Self::Complaints => format!("{} complained about", counted(n, "pack lot")),
            _ => counted(n, self.nouns().1),
        }
    }

    /// What is counted one by one: `3 complaints`.
    fn cases(self, n: usize) -> String {
        match self {
            Self::Complaints => counted(n, "complaint"),
            _ => self.bad(n),
        }
    }
}

/// The page, a line each; an empty one parts them.
pub fn lines(found: &Findings) -> Vec<String> {
    let mut lines = vec![what_was_counted(found)];
    if found.counted.things.is_empty() {
        return lines;
    }
    lines.push(String::new());
    if found.cases.is_empty() {
        lines.push("So there is nothing to look for.".into());
    } else if found.enough {
        lines.extend(leads(found));
    } else {
        lines.extend(few(found));
    }
    lines.extend(groups(found));
    lines.extend([String::new(), end(found)]);
    lines
}

fn what_was_counted(found: &Findings) -> String {
    let (asked, counts) = (found.asked, &found.counted);
    let (n, bad, weeks) = (counts.things.len(), counts.count(Fate::Bad), weeks(asked.weeks));
    let kinds = |noun: &str| {
        if let Some(only) = asked.only {
            return format!(" Only {noun} {} counts here.", only.shown());
        }
        let kinds = counts.kinds.iter().map(|(only, n)| format!("{n} {}", only.shown()));
        let kinds = kinds.collect::<Vec<_>>().join(", ");
        if kinds.is_empty() { String::new() } else { format!(" These were: {kinds}.") }
    };
    match asked.of {
        Of::Mould | Of::Suspects | Of::Losses if n == 0 => {
            let did = if asked.of == Of::Losses { "was cut or thrown out" } else { "was sown" };
            format!("No tray {did} in the last {weeks}.")
        }
        Of::Complaints if n == 0 => format!("No pack lot went out in the last {weeks}.{}", unnamed(found)),
        Of::Mould => format!(
            "Of {} sown in the last {weeks} {bad} went bad: a check named mould or rot, fuzz stood and was not cleared, or \
             they were lost to it. Suspect at some time, with those: {}.",
            counted(n, "tray"),
            bad + counts.count(Fate::Doubt)
        ),
        Of::Suspects => format!(
            "Of {} sown in the last {weeks} {bad} {} suspect at some time.",
            counted(n, "tray"),
            if bad == 1 { "was" } else { "were" }
        ),
        Of::Losses => format!(
            "Of {} cut or thrown out in the last {weeks} {bad} {} lost, or part of {}. What was not needed is no loss.{}",
            counted(n, "tray"),
            if bad == 1 { "was" } else { "were" },
            if bad == 1 { "it" } else { "them" },
            kinds("the reason")
        ),
        Of::Complaints => {
            let doubts = counts.count(Fate::Doubt);
            let maybe = match doubts {
                0 => String::new(),
                n => format!(", and {n} more may be meant"),
            };
            format!(
                "Of {} that went out in the last {weeks} {bad} {} complained about{maybe}.{}{}",
                counted(n, "pack lot"),
                if bad == 1 { "was" } else { "were" },
                kinds("the kind"),
                unnamed(found)
            )
        }
    }
}

fn weeks(n: i64) -> String {
    counted(usize::try_from(n).unwrap_or(0), "week")
}

/// Complaints that could not be counted.
fn unnamed(found: &Findings) -> String {
    match found.counted.unnamed {
        0 => String::new(),
        1 => " 1 complaint names none of them: say in it which lot it may be.".into(),
        n => format!(" {n} complaints name none of them: say in each which lot it may be."),
    }
}

fn leads(found: &Findings) -> Vec<String> {
    if found.leads.is_empty() {
        return vec![format!(
            "No group stands out by more than chance; {} were looked at. Another period or another question may show more.",
            found.looked_at
        )];
    }
    let mut lines = vec!["Where to look first. These are leads, none is a proof:".to_string()];
    let shown = found.leads.iter().take(LEADS).enumerate();
    lines.extend(shown.map(|(n, lead)| format!("   {}. {}", n + 1, lead_words(found, lead))));
    match found.leads.len().saturating_sub(LEADS) {
        0 => {}
        n => lines.push(format!("   and {n} more, marked > below.")),
    }
    lines
}

/// `4 of the 5 bad trays grew from seed lot S0012-X pea. Of the 40 others: 6.`
fn lead_words(found: &Findings, lead: &Lead) -> String {
    let mut groups = found.of_lead(lead);
    let Some(first) = groups.next() else { return String::new() };
    let (of, trays) = (found.asked.of, found.counted.trays());
    let bad = of.bad(usize::try_from(found.bad).unwrap_or(0));
    let who = if first.share.x == found.bad { format!("All {bad}") } else { format!("{} of the {bad}", first.share.x) };
    let mut words = format!(
        "{who} {}. Of the {} others: {}.",
        first.by.says(&first.name, trays),
        found.all - found.bad,
        first.share.n - first.share.x
    );
    let same = together(groups.map(|group| (group.by, group.name.as_str())));
    if !same.is_empty() {
        let noun = of.nouns().0;
        words = format!("{words} The very same {noun}s: {same}. Which of these it is, nobody can say from here.");
    }
    if let Some(earlier) = lead.shares_with {
        words = format!("{words} It has bad ones of {} above: it may be one cause, seen twice.", earlier + 1);
    }
    if found.of_lead(lead).any(|group| group.by.hands()) {
        words.push_str(" Hands are a lead to a task or a day, never blame: ask what was different.");
    }
    words
}

fn few(found: &Findings) -> Vec<String> {
    let of = found.asked.of;
    let cases = of.cases(found.cases.len());
    // many may complain about a few packs, or about packs nobody is sure of
    let about = match (of, found.counted.count(Fate::Bad)) {
        (Of::Complaints, 0) => ", none of them surely about a pack lot".to_string(),
        (Of::Complaints, n) if n < found.cases.len() => format!(", surely about {}", counted(n, "pack lot")),
        _ => String::new(),
    };
    let mut lines = Vec::new();
    if found.cases.len() == 1 {
        let what = if found.counted.trays() { "story" } else { "trace" };
        lines.push(format!("{cases}: one alone shares nothing with others. Its {what} says what is behind it."));
    } else if found.shared.is_empty() {
        lines.push(format!("{cases}{about}: too few to tell anything from chance, and they share nothing."));
    } else {
        lines.push(format!("{cases}{about}: too few to tell anything from chance. What they share:"));
        lines.extend(found.shared.iter().take(SHARED).map(|shared| shared_words(found, shared)));
    }
    lines.extend(found.cases.iter().take(ENOUGH).map(|words| format!("   - {words}")));
    lines
}

/// `  all 3: seed lot S0012-X pea; batch B0003 pea. Of the 40 others: 6.`
fn shared_words(found: &Findings, shared: &Shared) -> String {
    let who = match (shared.sure, shared.perhaps) {
        (sure, 0) if sure == shared.of && sure == 2 => "both".to_string(),
        (sure, 0) if sure == shared.of => format!("all {sure}"),
        (sure, 0) => format!("{sure} of {}", shared.of),
        (0, perhaps) => format!("perhaps {perhaps} of {}", shared.of),
        (sure, perhaps) => format!("{sure} of {}, and perhaps {perhaps} more", shared.of),
    };
    let names = together(shared.names.iter().map(|(by, name)| (*by, name.as_str())));
    let (x, n) = shared.others;
    let others = match (n, x == n) {
        (0, _) => "There are no others.".to_string(),
        (1, true) => "The one other too.".to_string(),
        (1, false) => "The one other not.".to_string(),
        (n, true) => format!("All {n} others too."),
        (n, false) => format!("Of the {n} other {}s: {x}.", found.asked.of.nouns().0),
    };
    format!("   {who}: {names}. {others}")
}

/// `seed lot S0012-X pea; begun at A 1-1, A 1-2 and 6 more`.
fn together<'n>(names: impl Iterator<Item = (By, &'n str)>) -> String {
    let mut of: Vec<(By, Vec<&str>)> = Vec::new();
    for (by, name) in names {
        match of.iter_mut().find(|(known, _)| *known == by) {
            Some((_, names)) => names.push(name),
            None => of.push((by, vec![name])),
        }
    }
    let one = |(by, names): &(By, Vec<&str>)| {
        let shown = names.iter().take(TOGETHER).copied().collect::<Vec<_>>().join(", ");
        match names.len().saturating_sub(TOGETHER) {
            0 => by.names(&shown),
            more => format!("{} and {more} more", by.names(&shown)),
        }
    };
    of.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// Every kind of groups, the worst on top.
fn groups(found: &Findings) -> Vec<String> {
    let mut lines = Vec::new();
    for by in By::ALL {
        let of: Vec<&Group> = found.groups.iter().filter(|group| group.by == *by).collect();
        if of.is_empty() {
            continue;
        }
        lines.extend([String::new(), by.shown().to_string()]);
        // of many only those with something bad, and what is marked
        let worth = |group: &&&Group| of.len() <= LISTED || group.called || group.share.x > 0;
        let listed: Vec<&&Group> = of.iter().filter(worth).take(LISTED).collect();
        lines.extend(listed.iter().map(|group| group_words(found, group)));
        let rest = of.len() - listed.len();
        if rest > 0 {
            let bad = of.iter().filter(|group| group.share.x > 0).count();
            let shown = listed.iter().filter(|group| group.share.x > 0).count();
            let more = match bad.saturating_sub(shown) {
                0 => "nothing bad in them".to_string(),
                n => format!("something bad in {n} of them"),
            };
            lines.push(format!("  and {rest} more, {more}"));
        }
    }
    lines
}

/// `  S0022-H radish  3 of 12, 25 % (9 to 53 %); the others 1 of 40; suspect 5`, with a mark where it differs.
fn group_words(found: &Findings, group: &Group) -> String {
    let mark = if group.called { '>' } else { ' ' };
    let rest =
        group.rest.map_or_else(|| "; there are no others".to_string(), |rest| format!("; the others {}", of(&rest)));
    let doubts = match found.asked.of {
        Of::Mould => format!("; suspect {}", group.share.x + group.doubts),
        Of::Complaints if group.doubts > 0 => format!("; {} more may be meant", group.doubts),
        _ => String::new(),
    };
    let note = match (group.called, group.worse) {
        (true, true) => ": more",
        (true, false) => ": less",
        (false, _) => "",
    };
    format!("{mark} {}  {}{rest}{doubts}{note}", group.name, group.share.words())
}

fn of(share: &Share) -> String {
    format!("{} of {}", share.x, share.n)
}

fn end(found: &Findings) -> String {
    let alike = if found.counted.trays() { " Trays of one shelf fail together, so it may be wider." } else { "" };
    format!(
        "In brackets where the true share lies, 95 of 100 times.{alike} Marked > is what differs from the others by more than \
         chance: it says where to look and what to try, it proves nothing, and no share clears a tray or a pack. v says how it was \
         counted."
    )
}

/// How it was counted and compared, for who asks: a line each.
pub fn why(found: &Findings) -> Vec<String> {
    let (noun, _) = found.asked.of.nouns();
    let mut lines = vec![
        format!(
            "Each group is compared with all {noun}s outside of it by Fisher's exact test, two-sided: p is the chance of a split as \
             uneven as this one, or more so, if the group made no difference."
        ),
        format!(
            "{} comparisons were made, of groups with at least {COMPARED} {noun}s in them and as many outside. Groups of the very \
             same {noun}s are one comparison. Among so many, some look uneven by luck: q is p corrected for all of them (Benjamini \
             and Hochberg).",
            found.looked_at
        ),
        format!(
            "A group is called at q {CALLED:.2} or less, where at least {ENOUGH} went bad in all, and as a lead only with at least \
             {IN_GROUP} bad ones of its own. Of fewer nothing is called, whatever p and q say."
        ),
        "The interval in brackets is Wilson's, for 95 %.".into(),
        "p and q take each one for a throw of its own. Trays of one shelf or batch, and packs of one day, fail together: so they \
         look surer than they are. And groups overlap: who sows on Mondays sows certain crops."
            .into(),
    ];
    lines.push(match found.asked.of {
        Of::Complaints => "A pack lot counts as bad once, however many complain of it. Lots that only may be meant are left out of \
                           every count until the complaint names the one. Lots of which nobody heard count as good."
            .into(),
        Of::Losses => "Counted are trays that ended in the period, by where they began. What was sprayed, watered or looked at counts \
                       only from days before any fuzz or loss: afterwards more is done to a bad tray."
            .into(),
        Of::Mould | Of::Suspects => "What was sprayed, watered or looked at counts only from days before any fuzz was seen: afterwards \
                                     more is done to a bad tray. Trays sown lately had less time to go bad."
            .into(),
    });
    lines.push("Hands are those that each entry names. They lead to a task or a day, never to blame.".into());
    let mut figures: Vec<&Group> = found.groups.iter().filter(|group| group.p.is_some()).collect();
    figures.sort_by(|a, b| a.p.unwrap_or(1.0).total_cmp(&b.p.unwrap_or(1.0)));
    if figures.is_empty() {
        return lines;
    }
    lines.extend([String::new(), "The figures, least likely by chance first".into()]);
    lines.extend(figures.iter().take(FIGURES).map(|group| figure(group)));
    match figures.len().saturating_sub(FIGURES) {
        0 => {}
        n => lines.push(format!("and {n} more: rackwalk cause --format csv prints all of them.")),
    }
    lines
}

/// `p 0.0012  q 0.034  seed lot S0012-X pea: 4 of 10, the others 1 of 35`.
fn figure(group: &Group) -> String {
    let (p, q) = (group.p.unwrap_or(1.0), group.q.unwrap_or(1.0));
    let rest = group.rest.map_or_else(String::new, |rest| format!(", the others {}", of(&rest)));
    format!("p {}  q {}  {}: {}{rest}", small(p), small(q), group.by.names(&group.name), of(&group.share))
}

/// Four decimals are enough for people; the other formats have all of them.
fn small(chance: f64) -> String {
    if chance >= 0.0001 { format!("{chance:.4}") } else { "below 0.0001".into() }
}
