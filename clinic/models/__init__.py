"""The clinic's nouns. Import them from here; each stands in a file of its own."""

from clinic.models.animals import Animal
from clinic.models.appeals import Appeal, AppealEnd
from clinic.models.approvals import Approval, Dispute, Owner, Withdrawal
from clinic.models.bills import Bill
from clinic.models.care import CareItem, ItemPart, Observation, Procedure
from clinic.models.corrections import AnimalCorrection
from clinic.models.follow_ups import FollowUp, FollowUpKind, FollowUpPlan
from clinic.models.groups import Group, GroupFact
from clinic.models.history import Change
from clinic.models.house import House
from clinic.models.imports import ImportedFile
from clinic.models.issued_papers import IssuedPaper, PaperDestruction, PaperNumber, PaperWithdrawal
from clinic.models.letter_texts import LetterText
from clinic.models.medical_lines import MedicalLine
from clinic.models.orders import Order
from clinic.models.paper_runs import PaperRun, RunItem
from clinic.models.partners import Partner
from clinic.models.path_reviews import PathEvent, ReviewPoint
from clinic.models.paths import PathDecision, PathStep, TreatmentPath
from clinic.models.people import Invitation, PersonChange, RoleHeld, User
from clinic.models.photos import Photo, PhotoConsent
from clinic.models.places import Place, Room
from clinic.models.prices import BoardingLevel, Price, Service
from clinic.models.set_up import SetUpCode
from clinic.models.shared_costs import CostBase, CostCenter, SharedYear
from clinic.models.staff import Grade, GradeCost, GradeMinutes, TimeExtra
from clinic.models.stays import Stay, StayLevel
from clinic.models.stock import StockCount, StockMove, SupplyLot, SupplyPack
from clinic.models.supplies import Kit, KitLine, Supply, SupplyPrice
from clinic.models.tablets import ShortCode, Tablet, WrongCode
from clinic.models.ward_sheets import BoardingDay, EveningSeen, SheetRow, Signing, WardSheet
from clinic.models.wounds import WoundReading

__all__ = [
    "Appeal",
    "AppealEnd",
    "Animal",
    "AnimalCorrection",
    "Approval",
    "Bill",
    "BoardingDay",
    "BoardingLevel",
    "CareItem",
    "Change",
    "CostBase",
    "CostCenter",
    "Dispute",
    "EveningSeen",
    "FollowUp",
    "FollowUpKind",
    "FollowUpPlan",
    "Grade",
    "GradeCost",
    "GradeMinutes",
    "Group",
    "GroupFact",
    "House",
    "ImportedFile",
    "Invitation",
    "IssuedPaper",
    "ItemPart",
    "Kit",
    "KitLine",
    "LetterText",
    "MedicalLine",
    "Observation",
    "Order",
    "Owner",
    "PaperDestruction",
    "PaperNumber",
    "PaperRun",
    "PaperWithdrawal",
    "Partner",
    "PathDecision",
    "PathEvent",
    "PathStep",
    "PersonChange",
    "Photo",
    "PhotoConsent",
    "Place",
    "Price",
    "Procedure",
    "ReviewPoint",
    "RoleHeld",
    "Room",
    "RunItem",
    "Service",
    "SetUpCode",
    "SharedYear",
    "SheetRow",
    "ShortCode",
    "Signing",
    "Stay",
    "StayLevel",
    "StockCount",
    "StockMove",
    "Supply",
    "SupplyPrice",
    "SupplyLot",
    "SupplyPack",
    "Tablet",
    "TimeExtra",
    "TreatmentPath",
    "User",
    "WardSheet",
    "Withdrawal",
    "WoundReading",
    "WrongCode",
]
