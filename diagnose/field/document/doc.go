// Package document is a document of sections and blocks without any layout, and three ways to
// write it: plain text of 80 columns that any printer prints, HTML in one file, and PDF with
// its fonts inside.
//
// Start with [Document], [Document.Text], [Document.HTML] and [Document.PDF]. The package knows
// nothing of what it writes about. Whatever a text holds, nothing of it acts on a terminal, in
// a browser or in a PDF.
//
//   - HTML is one file without script or outside resource, under a policy that forbids both.
//     html/template writes and escapes it (page.html).
//   - PDF is laid out here (flow.go). Blocks become atoms: a line, a row, a picture. Sections
//     that are not wide share two balanced columns. The PDF has no tags, since its writer knows
//     no structure tree. A person who reads by ear uses the HTML or the text.
//   - A drawing is shapes in millimetres, written as inline SVG and drawn into the PDF.
//   - The fonts are in the program (`ampwalk help fonts` shows their licence). A letter that they
//     lack is shown as a box.
//   - script.go joins Arabic letters and turns what runs from the right. It knows one level of
//     embedding.
//
// # What it is checked against
//
// The tests of ampwalk/diagnose/field/summary show PDF and HTML as people see them, by poppler's
// programs and headless Chromium: pages, margins, fonts, text that can be selected. Letters are
// checked against the algorithms and code charts of Unicode.
package document
