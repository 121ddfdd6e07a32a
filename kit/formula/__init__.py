"""The formula on paper: lines, phases, amounts, expansion to substances, checks, versions and files."""
