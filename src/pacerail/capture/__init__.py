"""Reading captures: what a file holds, and its pictures on the refresh grid."""
