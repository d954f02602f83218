//! Labels laid out on pages: HTML with its styles inside, no scripts, and nothing loaded from elsewhere.

use datamatrix::{DataMatrix, SymbolList};
use maud::{Markup, PreEscaped, html};
use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};

use super::sheet::{Length, Sheet};
use super::{Label, Symbol, line};
use crate::domain::code::Code;
use crate::report::document;

const STYLE: &str = include_str!("style.css");

/// Said once, on the screen and not on paper.
const HINT: &str = "Print at 100 %, without headers and margins of the browser. \
    Paper labels fail when wet: print on film, or put them in sleeves.";

/// The whole file, one element of paper for each page.
pub fn page(title: &str, labels: &[Label], sheet: &Sheet) -> String {
    let per_page = usize::try_from(sheet.per_page()).unwrap_or(1);
    let body = html! {
        p.hint { (HINT) }
        @for labels in labels.chunks(per_page) {
            div.paper {
                @for ((left, top), label) in sheet.corners().zip(labels) {
                    div.cell style={ "left: " (Length::tenths(left)) "; top: " (Length::tenths(top)) } {
                        (one(label))
                    }
                }
            }
        }
    };
    document(&line(title), &format!("{}{STYLE}", sizes(sheet)), &body)
}

/// What differs from sheet to sheet; `@page` knows no variables.
fn sizes(sheet: &Sheet) -> String {
    let mm = Length::tenths;
    let ((page_w, page_h), (w, h)) = (sheet.page, sheet.label);
    format!(
        "@page {{ size: {page_w} {page_h}; margin: 0 }}\n\
         :root {{ --page-w: {page_w}; --page-h: {page_h}; --w: {}; --h: {}; --u: {} }}\n",
        mm(w),
        mm(h),
        sheet.unit(),
        page_w = mm(page_w),
        page_h = mm(page_h),
    )
}

pub(super) fn one(label: &Label) -> Markup {
    html! {
        section.label.pack[label.dense] {
            div.top.coded[label.code.is_some()] {
                @if let Some(code) = &label.code {
                    div.qr { (PreEscaped(symbol(&label.symbol, code))) }
                    p.code { (code) }
                    p.name { (label.name) }
                } @else {
                    p.contents { (label.name) }
                }
                @for line in &label.beside { p.line { (line) } }
            }
            @if let Some(caution) = &label.caution { p.caution { (caution) } }
            @for line in &label.below { p.line { (line) } }
        }
    }
}

fn symbol(symbol: &Symbol, code: &Code) -> String {
    match symbol {
        Symbol::Plain => qr(code),
        Symbol::Matrix(elements) => matrix(elements).unwrap_or_else(|| qr(code)),
        Symbol::Link(link) => link_qr(link).unwrap_or_else(|| qr(code)),
    }
}

/// A GS1 `DataMatrix`: its first sign says that elements follow. One module of quiet around it (ISO/IEC 16022).
fn matrix(elements: &str) -> Option<String> {
    let symbol = DataMatrix::encode_gs1(elements.as_bytes(), SymbolList::default()).ok()?;
    let bitmap = symbol.bitmap();
    let (width, height) = (bitmap.width() + 2, bitmap.height() + 2);
    let path: Vec<String> = bitmap.pixels().map(|(x, y)| format!("M{} {}h1v1h-1z", x + 1, y + 1)).collect();
    let image = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (width) " " (height) } shape-rendering="crispEdges" {
            rect width=(width) height=(height) fill="#fff" {}
            path d=(path.concat()) fill="#000" {}
        }
    };
    Some(image.into_string())
}

fn link_qr(link: &str) -> Option<String> {
    let symbol = QrCode::with_error_correction_level(link, EcLevel::M).ok()?;
    let image = symbol.render::<svg::Color>().module_dimensions(1, 1).build();
    Some(image.split_once("?>").map_or(image.as_str(), |(_, svg)| svg).to_owned())
}

/// The code without hyphens, which some scanners type as another character, with the most redundancy
/// there is: labels get wet and scratched.
fn qr(code: &Code) -> String {
    let plain = code.shown().replace('-', "");
    #[expect(clippy::expect_used, reason = "a code has at most 21 characters, and 1852 of them fit (ISO/IEC 18004)")]
    let symbol = QrCode::with_error_correction_level(plain, EcLevel::H).expect("a code fits a QR code");
    let image = symbol.render::<svg::Color>().module_dimensions(1, 1).build();
    // the XML declaration has no place inside a page
    image.split_once("?>").map_or(image.as_str(), |(_, svg)| svg).to_owned()
}
