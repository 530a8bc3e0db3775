"""What is heard: a wait that is over, and what stays overdue or stopped; never needed."""
