package report

import "lapwing/coverage/assess/assesstest"

func small() *Report   { return &Report{Assessment: assesstest.Small()} }
func quarter() *Report { return &Report{Assessment: assesstest.Quarter()} }
func empty() *Report   { return &Report{Assessment: assesstest.Empty()} }
func asked() *Report   { return &Report{Assessment: assesstest.Asked()} }
