// Head and style of what is printed for people in the field: deployment sheets, notice, summary.
// Set for A4: with texts of any length a page stays below 271 mm, with usual ones below the 246 mm
// of US letter.
#pragma once

#include <string>

#include "base/text.h"
#include "words/words.h"

namespace hearwood {

inline constexpr const char* kSheetStyle = R"css(
:root { --ink: #1f2a2e; --paper: #fbf9f4; --rule: #a9ada8; --a: #0f6b63; --b: #a65312; --caution: #f3e3b5; }
* { box-sizing: border-box; }
@page { size: A4; margin: 14mm 15mm 12mm; }
html { background: #e9e6df; }
body { margin: 0; color: var(--ink); font: 9pt/1.3 Georgia, "Noto Serif", "DejaVu Serif", serif;
  font-variant-numeric: tabular-nums lining-nums; }
.page { background: var(--paper); width: 196mm; min-height: 271mm; margin: 8mm auto; padding: 8mm; break-after: page;
  overflow-wrap: anywhere; }
.page:last-child { break-after: auto; }
@media print {
  html, .page { background: none; }
  .page { width: auto; margin: 0; padding: 0; min-height: 0; }
}
.head { display: flex; justify-content: space-between; gap: 6mm; font-size: 8.4pt; border-bottom: 0.3mm solid var(--ink);
  padding-bottom: 1mm; }
h1 { font-size: 16pt; line-height: 1.12; font-weight: normal; margin: 1.6mm 0 0.6mm; }
h2 { font-size: 10pt; font-weight: bold; margin: 2mm 0 0.6mm; }
h2 small { font-weight: normal; font-size: 8.4pt; }
.stand { font-size: 10.4pt; margin: 0 0 1.6mm; }
.mark { display: inline-block; width: 2.7mm; height: 2.7mm; margin-right: 1mm; border: 0.5mm solid var(--ink);
  vertical-align: -0.2mm; }
.mark.a { border-color: var(--a); background: var(--a); border-radius: 50%; print-color-adjust: exact;
  -webkit-print-color-adjust: exact; }
.mark.b { border-color: var(--b); }
.facts { display: grid; grid-template-columns: 26mm 1fr 26mm 1fr; gap: 0.7mm 3mm; margin: 0; }
.facts dt { color: #4d5759; font-size: 8.4pt; padding-top: 0.35mm; }
.facts dd { margin: 0; min-height: 4mm; display: -webkit-box; -webkit-box-orient: vertical; -webkit-line-clamp: 2;
  overflow: hidden; }
.facts dd.open { border-bottom: 0.2mm solid var(--rule); }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; font-weight: normal; padding: 0.7mm 1.6mm; vertical-align: bottom; }
thead th { font-size: 8pt; color: #4d5759; padding-bottom: 0.3mm; }
table.sun { width: auto; margin-top: 0.8mm; }
.sun td, .sun th { padding: 0.1mm 9mm 0.1mm 0; }
.fill td { border: 0.2mm solid var(--rule); height: 5.2mm; font-size: 7.6pt; color: #6a7173; }
table.fill { table-layout: fixed; }
.fill thead th:first-child { width: 76mm; }
.fill .label { padding-left: 0; }
.boxes { margin: 0; padding: 0; list-style: none; display: flex; flex-wrap: wrap; gap: 0.7mm 4mm; }
.boxes li::before { content: ""; display: inline-block; width: 3mm; height: 3mm; border: 0.3mm solid var(--ink);
  margin-right: 1.3mm; vertical-align: -0.4mm; }
.soil { display: grid; grid-template-columns: 92mm 1fr; gap: 0 5mm; align-items: start; }
.soil p { margin: 0 0 1mm; font-size: 8.4pt; }
.soil .fill thead th:first-child { width: 42mm; }
.caution { background: var(--caution); padding: 1.4mm 2mm; margin: 2.6mm 0 0; font-size: 8.2pt; line-height: 1.28;
  print-color-adjust: exact; -webkit-print-color-adjust: exact; }
/* Most languages need more room than English. */
html:not(:lang(en)) body { font-size: 8.2pt; line-height: 1.24; }
html:not(:lang(en)) .facts dt, html:not(:lang(en)) .soil p, html:not(:lang(en)) .caution { font-size: 7.6pt; }
@media screen and (max-width: 200mm) {
  .page { width: auto; margin: 0; padding: 4mm; }
  .facts { grid-template-columns: 21mm 1fr; }
  .soil { grid-template-columns: 1fr; }
  .fill thead th:first-child, .soil .fill thead th:first-child { width: 40%; }
  .sun td, .sun th { padding-right: 3mm; }
}
.unchecked { margin: 1.6mm 0 0; font-size: 7.6pt; font-style: italic; }
.notice { font-size: 9.6pt; line-height: 1.3; }
.notice h1 { font-size: 19pt; }
.notice h2 { font-size: 10.6pt; margin: 2.8mm 0 0.8mm; }
.notice p { margin: 0 0 1.4mm; }
.notice .facts { grid-template-columns: 76mm 1fr; gap: 1mm 3mm; }
.notice .facts dt { font-size: 8.8pt; padding-top: 0.8mm; }
.notice .facts dd { min-height: 5.6mm; }
.notice .boxes { display: block; }
.notice .fill td { height: 6mm; }
.notice .fill thead th:first-child { width: 62mm; }
.lines div { border-bottom: 0.2mm solid var(--rule); min-height: 7mm; }
)css";

/// A document up to its body.
inline std::string sheet_head(const Words& words, const std::string& title) {
    return "<!DOCTYPE html>\n<html lang=\"" + std::string(words.code()) +
           "\"><head><meta charset=\"utf-8\">\n<meta name=\"viewport\" "
           "content=\"width=device-width\">\n<title>" +
           escape_html(title) + "</title>\n<style>" + kSheetStyle + "</style></head><body>\n";
}

}  // namespace hearwood
