//! Complaints, recalls and exercises as their screens show them; whom to call, whose rules the room keeps, and how fast a trace is
//! to be.

use super::complaint::{Complaint, Sold};
use super::id::{ComplaintId, RecallId};
use super::recall::Recall;
use super::words::words;

/// Everything the screens of complaints and recalls show.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Answers {
    /// The open ones first, then the newest.
    pub complaints: Vec<Complaint>,
    /// Recalls and exercises, the newest first.
    pub recalls: Vec<Recall>,
    /// What went out lately, for the lots a complaint may be about.
    pub sold: Vec<Sold>,
    pub answering: Answering,
    #[serde(skip)]
    pub answering_rev: i64,
}

impl Answers {
    pub fn complaint(&self, id: ComplaintId) -> Option<&Complaint> {
        self.complaints.iter().find(|complaint| complaint.id == id)
    }

    pub fn recall(&self, id: RecallId) -> Option<&Recall> {
        self.recalls.iter().find(|recall| recall.id == id)
    }
}

words!(
    /// Whose rules on records are shown beside a hand-over. Local codes decide.
    Country { Us = "us" / "United States", Ca = "ca" / "Canada", Eu = "eu" / "European Union", Other = "other" / "another" }
);

impl Country {
    /// What these rules ask of a hand-over; facts, no advice.
    pub fn facts(self) -> &'static str {
        match self {
            Self::Us => {
                "21 CFR 1 subpart S: records within 24 h of being asked, in an outbreak as one sortable spreadsheet; kept 2 years. \
                 No enforcement before 2028-07-20; small farms may be exempt."
            }
            Self::Ca => {
                "SFCR s. 83-92: one step back and one forward, within 24 h, as one plain-text file that ordinary software can \
                 import; a recall simulation at least every 12 months, its results kept 2 years."
            }
            Self::Eu => {
                "Regulation 178/2002 art. 18: who supplied you and which businesses you supplied, on demand; how long records are \
                 kept is set elsewhere. Keep 2 years at least."
            }
            Self::Other => "Ask your authority how soon and how long: 24 h and 2 years are common.",
        }
    }
}

/// Numbers and targets of the room.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Answering {
    /// Name and number, as they are to be called.
    pub authority: String,
    pub laboratory: String,
    pub insurer: String,
    pub country: Country,
    /// Minutes from the call to the list, the ceiling of that, and to what an authority asks for.
    pub trace_min: i64,
    pub ceiling_min: i64,
    pub authority_min: i64,
}

impl Default for Answering {
    /// Targets: in-house trace 2 h, ceiling 4 h, authority 24 h (tracing.md T5, the room's to edit).
    fn default() -> Self {
        let none = String::new;
        Self {
            authority: none(),
            laboratory: none(),
            insurer: none(),
            country: Country::Other,
            trace_min: 120,
            ceiling_min: 240,
            authority_min: 1440,
        }
    }
}

impl Answering {
    /// What the book would not take, and the field.
    pub fn check(&self) -> Result<(), (&'static str, String)> {
        let in_order =
            0 < self.trace_min && self.trace_min <= self.ceiling_min && self.ceiling_min <= self.authority_min;
        if !in_order || self.authority_min > 14 * 1440 {
            return Err((
                "trace",
                "The targets are minutes, each no shorter than the one before, 14 days at most.".into(),
            ));
        }
        Ok(())
    }
}
