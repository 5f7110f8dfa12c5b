"""beam"""
