"""The books' rows, one noun per module."""

from ledger.models.accounts import Account
from ledger.models.advances import Advance
from ledger.models.agreements import Agreement
from ledger.models.bank import BankAccount, BankFile, BankLine, BankLineWords, BankStatement
from ledger.models.bank_matches import BankMatch, BankMatchEntry, BankMatchLine, BankReconciliation, BankRule
from ledger.models.bill_payments import BillPayment
from ledger.models.books import Books
from ledger.models.budgets import BudgetLine
from ledger.models.carried import Carried
from ledger.models.charges import Charge
from ledger.models.commitments import Commitment, CommitmentMove
from ledger.models.decisions import BilledMonth, StandingDecision
from ledger.models.donor_merges import DonorErasure, DonorMerge, DonorsApart
from ledger.models.donors import Donor, DonorAddress, DonorNumber
from ledger.models.entries import Entry, Words
from ledger.models.fund_days import FundDay
from ledger.models.funds import Fund
from ledger.models.gift_files import GiftFile, GiftRule, GiftSource
from ledger.models.gifts import Gift
from ledger.models.holder import Holder
from ledger.models.inflows import Inflow
from ledger.models.leftover_answers import LeftoverAnswer
from ledger.models.limits import Ceiling, Limit, LimitUse
from ledger.models.periods import Closing, ClosingBalance
from ledger.models.policies import Policy
from ledger.models.postings import Posting
from ledger.models.price_approvals import PriceApproval
from ledger.models.returns import GiftReturn
from ledger.models.scans import Scan
from ledger.models.shares import Share
from ledger.models.shortfalls import Shortfall
from ledger.models.unpaid import Unpaid
from ledger.models.uses import Use
from ledger.models.waiting_gifts import WaitingGift

__all__ = [
    "GiftFile",
    "GiftRule",
    "GiftSource",
    "Account",
    "Advance",
    "Agreement",
    "BankAccount",
    "BankFile",
    "BankLine",
    "BankLineWords",
    "BankMatch",
    "BankMatchEntry",
    "BankMatchLine",
    "BankReconciliation",
    "BankRule",
    "BankStatement",
    "BilledMonth",
    "BillPayment",
    "Books",
    "Ceiling",
    "BudgetLine",
    "Carried",
    "Charge",
    "Closing",
    "ClosingBalance",
    "Commitment",
    "CommitmentMove",
    "Donor",
    "DonorAddress",
    "DonorErasure",
    "DonorMerge",
    "DonorNumber",
    "DonorsApart",
    "Entry",
    "Fund",
    "FundDay",
    "Gift",
    "GiftReturn",
    "Holder",
    "Inflow",
    "Policy",
    "LeftoverAnswer",
    "Limit",
    "LimitUse",
    "Posting",
    "PriceApproval",
    "Scan",
    "Share",
    "Shortfall",
    "StandingDecision",
    "Unpaid",
    "Use",
    "WaitingGift",
    "Words",
]
