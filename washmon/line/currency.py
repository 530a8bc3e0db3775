"""How many decimals an amount of money has: most currencies two, some none, a few three."""

_DECIMALS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
"""The minor units of ISO 4217 (list one of its maintenance agency) where they are not two; values
from memory."""
_OTHER = {code: count for count, codes in _DECIMALS.items() for code in codes.split()}


def decimals_of(currency: str) -> int:
    """Return the decimals of a currency, by its three letters; two where it is not known."""
    return _OTHER.get(currency, 2)
