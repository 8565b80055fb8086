package document_test

import (
	"fmt"
	"strings"

	"ampwalk/diagnose/field/document"
)

// What a text holds is shown and does nothing.
func ExampleDocument_HTML() {
	d := document.Document{Title: "Visit", Sections: []document.Section{{
		Heading: "Notes",
		Blocks:  []document.Block{document.Paragraph("Fuse replaced. <script>alert(1)</script>")},
	}}}
	page := d.HTML(document.A4)
	fmt.Println(strings.Contains(page, "<script"), strings.Contains(page, "&lt;script&gt;"))
	fmt.Print(d.Text())
	// Output:
	// false true
	// VISIT
	// ================================================================================
	//
	// NOTES
	// Fuse replaced. <script>alert(1)</script>
}
