//! The signs of places and of a timeline's days. Each has a word; none relies on colour.

use super::theme::{Role, Theme};
use crate::domain::fuzz::Verdict;
use crate::domain::look::{Mist, Roots, Stand};
use crate::domain::tray::Sign;

/// One character for a place's state.
pub(super) fn sign(sign: Sign, theme: &Theme) -> &'static str {
    let (wide, plain) = match sign {
        Sign::Held => ("■", "#"),
        Sign::Suspect => ("?", "?"),
        Sign::Late => ("!", "!"),
        Sign::Due => ("○", "o"),
        Sign::Waiting => ("%", "%"),
        Sign::Odd => ("~", "~"),
        Sign::Ready => ("◆", "*"),
        Sign::Looked => ("·", "."),
        Sign::New => ("+", "+"),
        Sign::ToClean => ("×", "x"),
        Sign::Empty => (" ", " "),
    };
    if theme.wide_signs { wide } else { plain }
}

/// How urgent a sign is.
pub(super) fn role(sign: Sign) -> Role {
    match sign {
        Sign::Held | Sign::Suspect => Role::Alarm,
        Sign::Late | Sign::Due | Sign::Odd | Sign::Waiting | Sign::ToClean => Role::Soon,
        Sign::Ready => Role::Good,
        Sign::Looked | Sign::New | Sign::Empty => Role::Text,
    }
}

/// Two letters for a grade, as in the legend.
pub(super) fn roots(grade: Roots) -> &'static str {
    match grade {
        Roots::None => "no",
        Roots::Peeking => "pe",
        Roots::Plenty => "pl",
        Roots::Full => "fu",
        Roots::Hidden => "--",
    }
}

/// Two letters for a stand.
pub(super) fn stand(stand: Stand) -> &'static str {
    match stand {
        Stand::Good => "go",
        Stand::Uneven => "un",
        Stand::Dry => "dr",
        Stand::Yellow => "ye",
        Stand::Fallen => "fa",
    }
}

/// Two letters for fuzz.
pub(super) fn mist(mist: Mist) -> &'static str {
    match mist {
        Mist::Down => "ld",
        Mist::Stands => "ST",
        Mist::Untested => "??",
    }
}

/// Two letters for what a fuzz check came to.
pub(super) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Hairs => "ha",
        Verdict::LooksLikeHairs => "h?",
        Verdict::CannotTell => "?!",
        Verdict::Mould => "MO",
        Verdict::Rot => "RO",
        Verdict::MouldOrRot => "MR",
        Verdict::HairsAndMould => "HM",
    }
}

/// A bar of `width` cells, `tenths` of it filled.
pub(super) fn bar(tenths: i64, width: usize, theme: &Theme) -> String {
    let filled = usize::try_from(tenths.clamp(0, 10)).unwrap_or(0) * width / 10;
    let (full, free) = if theme.wide_signs { ("█", "░") } else { ("#", "-") };
    format!("{}{}", full.repeat(filled), free.repeat(width - filled))
}
