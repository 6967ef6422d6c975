"""What a store holds, from its sizes to dry matter that can be eaten; each step has its source."""
