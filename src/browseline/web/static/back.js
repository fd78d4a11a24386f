// A page that answers what a form sent stands in the browser's history by its address alone: Back then asks
// for the form anew, and nothing is sent a second time.
history.replaceState(history.state, "", location.href);
