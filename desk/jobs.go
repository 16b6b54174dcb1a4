package desk

// The names of the clock's jobs, by which one part of the house asks for another's turn.
const (
	JobTell    = "tell"    // decide who must be told what
	JobDeliver = "deliver" // send what is due
	JobReplan  = "replan"  // plan queued runs anew
	JobBackup  = "backup"  // copy the data file
	JobLearn   = "learn"   // work out what runs teach their neighbours
	JobVisits  = "visits"  // propose visits anew
	JobDaily   = "daily"   // move the feeds' horizon
)
