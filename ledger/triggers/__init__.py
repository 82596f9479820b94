"""The trigger text that keeps the books, one module for each database engine.

What both say: posted means posted; nothing joins a finished entry; an entry counts its legs, follows the last
number and the last digest; what is given back never exceeds what it gives back; what is left of an inflow or a
shortfall and a fund's closing balances follow from what is posted and from nothing else.
"""
