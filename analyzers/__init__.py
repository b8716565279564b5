"""What can be said about one STEP file: recognise, measure, plan, judge. No queue, no HTTP, no global state, no printing."""
