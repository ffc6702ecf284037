"""The trade's questions, each a pure function of the conversion: the computation, then the rules that yield findings."""
