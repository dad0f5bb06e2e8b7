"""Facts for a narration: short sentences that the sample supports, each with its times.

Every number comes from the table of figures, the events or the cadence runs; here they
are only worded. What a segment is too short or too broken to say is said as such.
"""
