// Package waste tells what product went down twice or outside the boundary: by product, by
// cause and by field, how sure that is, and which one change would save most.
//
//	Assessments --document.go--> Field each, and a Document of all of them
//	            --change.go----> what each change would save
//	Document    --tables.go, figures.go--> the tables, in the units of each product
//	            --text.go------> a screenful for the terminal
//	            --page.go------> waste.html
//	            --client.go----> waste-client.html, two printed pages for a client
//	            --csv.go-------> waste.csv, waste-fields.csv, waste-matrix.csv
//	            --json.go------> the same for programs
package waste
