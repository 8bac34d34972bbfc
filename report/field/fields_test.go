package field

import "lapwing/coverage/assess/assesstest"

func small() *Document   { return &Document{Assessment: assesstest.Small()} }
func quarter() *Document { return &Document{Assessment: assesstest.Quarter()} }
func empty() *Document   { return &Document{Assessment: assesstest.Empty()} }
func asked() *Document   { return &Document{Assessment: assesstest.Asked()} }
